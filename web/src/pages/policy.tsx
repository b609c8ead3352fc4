// How much reserve each class of exercise keeps.
import { useEffect, useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { ClassPolicy, PolicyPage as Page } from '../api/types';
import { Check, Failure, Loading, TextField, tell } from '../design/parts';
import { num, readNumber } from '../format';
import { t, type TextKey } from '../text';
import { useAsk } from '../use';
import { classText } from './exercises';

const fields = ['least_reserve', 'most_reserve', 'miss_limit', 'least_reps', 'most_reps', 'sets', 'rest_s', 'failure_every_days', 'test_every_days'] as const;
type Key = (typeof fields)[number];
const shown = (c: ClassPolicy, k: Key) => num(k === 'miss_limit' ? c[k] * 100 : c[k], 2);

export function PolicyPage({ changed, version }: { changed: () => void; version: number }) {
  const { data, error, again } = useAsk(() => ask('GET /api/policy'), `${version}`);
  useEffect(() => {
    document.title = `${t('nav.policy')} · Ullage`;
  }, []);
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('policy.title')}</h1>
      <p class="lead">{t('policy.text')}</p>
      {data ? <Form key={JSON.stringify(data.policy)} page={data} changed={() => (again(), changed())} /> : error ? <Failure error={error} again={again} /> : <Loading />}
    </main>
  );
}

function Form({ page, changed }: { page: Page; changed: () => void }) {
  const [d, setD] = useState(() => page.policy.classes.map((c) => Object.fromEntries(fields.map((k) => [k, shown(c, k)])) as Record<Key, string>));
  const [last, setLast] = useState(() => page.policy.classes.map((c) => c.last_set_failure));
  const [error, setError] = useState<unknown>();
  const bad = d.some((c) => fields.some((k) => readNumber(c[k]) === undefined));
  const save = async (e: Event) => {
    e.preventDefault();
    if (bad) return;
    const classes = page.policy.classes.map((c, i) => ({
      ...c,
      last_set_failure: last[i]!,
      ...(Object.fromEntries(fields.map((k) => [k, k === 'miss_limit' ? readNumber(d[i]![k])! / 100 : readNumber(d[i]![k])!])) as Pick<ClassPolicy, Key>),
    }));
    try {
      tell(t('saved'), (await ask('PUT /api/policy', { body: { ...page.policy, classes } })).change);
      setError(undefined);
      changed();
    } catch (x) {
      setError(x);
    }
  };
  const standard = async () => {
    try {
      tell(t('policy.standard.done'), (await ask('DELETE /api/policy')).change);
      changed();
    } catch (x) {
      setError(x);
    }
  };
  return (
    <form onSubmit={(e) => void save(e)}>
      {page.policy.classes.map((c, i) => (
        <fieldset key={c.class}>
          <h2>{t('policy.of', { cls: classText(c.class), least: num(readNumber(d[i]!.least_reserve) ?? 0), most: num(readNumber(d[i]!.most_reserve) ?? 0) })}</h2>
          <div class="fields many">
            {fields.map((k) => (
              <TextField key={k} label={t(`policy.${k}` as TextKey)} inputMode="decimal" value={d[i]![k]}
                set={(v) => setD(d.map((x, j) => (j === i ? { ...x, [k]: v } : x)))} fault={readNumber(d[i]![k]) === undefined ? t('fault.number') : undefined} />
            ))}
          </div>
          <Check label={t('policy.last')} checked={last[i]!} set={(on) => setLast(last.map((x, j) => (j === i ? on : x)))} />
        </fieldset>
      ))}
      {error !== undefined && <Failure error={error} />}
      <div class="actions">
        <button type="submit" class="first" disabled={bad}>{t('save')}</button>
        {page.from !== 'standard' && <button type="button" onClick={() => void standard()}>{t('policy.standard')}</button>}
      </div>
    </form>
  );
}

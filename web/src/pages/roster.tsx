// Who needs attention today, and why.
import { useEffect, useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { Reason } from '../api/types';
import { Blank, Empty, Failure, Said, tell } from '../design/parts';
import { ago, day, num } from '../format';
import { link, type Route } from '../router';
import { t, type TextKey } from '../text';
import { useAsk } from '../use';

type Sort = 'attention' | 'name' | 'last_session' | 'sets';
const PAGE = 100;
const kinds: Reason['kind'][] = ['hold', 'pain', 'lighter', 'misses', 'judgement', 'stall', 'unseen', 'suspects', 'not fitted', 'assumed'];
export const kindText = (k: Reason['kind']) => t(`reason.${k.replace(' ', '.')}` as TextKey);

export function RosterPage({ version, changed }: { route: Route; changed: () => void; version: number }) {
  const [sort, setSort] = useState<Sort>('attention');
  const [q, setQ] = useState('');
  const [typed, setTyped] = useState('');
  const [kind, setKind] = useState<Reason['kind'] | ''>('');
  const [limit, setLimit] = useState(PAGE);
  useEffect(() => {
    document.title = 'Ullage';
  }, []);
  useEffect(() => {
    const timer = setTimeout(() => setQ(typed), 120);
    return () => clearTimeout(timer);
  }, [typed]);
  const { data, error, again } = useAsk(
    () => ask('GET /api/roster', { query: { sort: sort as never, q, kind: (kind || undefined) as never, limit } }),
    `${sort}|${q}|${kind}|${limit}|${version}`,
  );
  useEffect(() => {
    if (!data?.pending) return;
    const timer = setTimeout(again, 1500);
    return () => clearTimeout(timer);
  }, [data]);
  if (!data) return <Blank error={error} again={again} />;
  if (data.total === 0) return <First changed={changed} />;
  const head = (key: Sort, text: string, cls = '') => (
    <th scope="col" class={cls} aria-sort={sort === key ? (key === 'name' ? 'ascending' : 'descending') : 'none'}>
      <button type="button" class="plain start sort" onClick={() => setSort(key)}>
        {text}
        {sort === key && <span aria-hidden="true"> {key === 'name' ? '↑' : '↓'}</span>}
      </button>
    </th>
  );
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <div class="line spread end">
        <div>
          <h1>{data.standing_out ? t('roster.title', { n: data.standing_out, all: num(data.total) }) : t('roster.calm', { all: num(data.total) })}</h1>
          <p class="soft">{day(data.as_of, 'long')}{data.pending ? ` · ${t('roster.pending', { n: data.pending })}` : ''}</p>
        </div>
        <p class="line">
          <a class="key first" href="#/floor">{t('floor.title')}</a>
          <a class="key" href="#/new">{t('lifter.new')}</a>
        </p>
      </div>
      <div class="line end filters">
        <label class="field">
          <span>{t('search.lifter')}</span>
          <input type="search" value={typed} onInput={(e) => setTyped(e.currentTarget.value)} />
        </label>
        <label class="field">
          <span>{t('roster.kind')}</span>
          <select value={kind} onChange={(e) => setKind(e.currentTarget.value as Reason['kind'])}>
            <option value="">{t('roster.all')}</option>
            {kinds.filter((k) => data.counts[k]).map((k) => (
              <option key={k} value={k}>{kindText(k)} ({num(data.counts[k] ?? 0)})</option>
            ))}
          </select>
        </label>
      </div>
      {error !== undefined && <Failure error={error} again={again} />}
      {data.lifters.length === 0 ? (
        <Empty title={t('roster.no.match')} />
      ) : (
        <div class="table-scroll">
          <table class="roster">
            <thead>
              <tr>
                {head('name', t('lifter'))}
                {head('attention', t('roster.why'))}
                {head('last_session', t('roster.last'), 'wide')}
                {head('sets', t('roster.sets'), 'right wide')}
              </tr>
            </thead>
            <tbody>
              {data.lifters.map((r) => (
                <tr key={r.id}>
                  <th scope="row"><a class="name-cell" href={link('lifter', r.id)}>{r.lifter}</a></th>
                  <td>
                    {r.reasons.length === 0 && <span class="soft">{r.pending ? t('roster.looking') : t('roster.nothing')}</span>}
                    {r.reasons.map((reason, i) => (
                      <p key={i} class={`reason${reason.kind === 'hold' || reason.kind === 'pain' ? ' harm' : ''}`}>
                        <span class="reason-kind">{kindText(reason.kind)}</span> <Said own={reason.kind === 'hold'} of={reason.text} />
                      </p>
                    ))}
                  </td>
                  <td class="wide">{ago(r.last_session, data.as_of)}</td>
                  <td class="right wide">{num(r.sets)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {data.matching > data.lifters.length && (
        <p class="actions">
          <button type="button" onClick={() => setLimit((n) => n + PAGE)}>{t('more.of', { n: Math.min(PAGE, data.matching - data.lifters.length), all: num(data.matching) })}</button>
        </p>
      )}
    </main>
  );
}

// An empty data file: what to do first.
function First({ changed }: { changed: () => void }) {
  const [busy, setBusy] = useState(false);
  const [error, setError] = useState<unknown>();
  const demo = async () => {
    setBusy(true);
    try {
      const made = await ask('POST /api/demo', { body: {}, timeout: 180000 });
      tell(t('first.demo.done'), made.change);
      changed();
    } catch (e) {
      setError(e);
      setBusy(false);
    }
  };
  return (
    <main class="sheet first-visit" id="main" tabIndex={-1}>
      <h1>{t('first.title')}</h1>
      <p class="lead">{t('first.text')}</p>
      {error !== undefined && <Failure error={error} />}
      <ol class="first-steps">
        <li>
          <h2>{t('first.take.on')}</h2>
          <p>{t('first.take.on.text')}</p>
          <a class="key first" href="#/new">{t('lifter.new')}</a>
        </li>
        <li>
          <h2>{t('first.import')}</h2>
          <p>{t('first.import.text')}</p>
          <a class="key" href="#/import">{t('nav.import')}</a>
        </li>
        <li>
          <h2>{t('first.demo')}</h2>
          <p>{t('first.demo.text')}</p>
          <button type="button" disabled={busy} onClick={() => void demo()}>{busy ? t('first.demo.busy') : t('first.demo.make')}</button>
        </li>
      </ol>
      <p class="soft">{t('first.restore')} <a href="#/data">{t('nav.data')}</a></p>
    </main>
  );
}

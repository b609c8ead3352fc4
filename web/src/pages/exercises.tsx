// The exercise library: look up, correct, add.
import { useEffect, useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { Exercise, ExerciseInput } from '../api/types';
import { Check, Choice, Dialog, Empty, Failure, Loading, TextField, tell } from '../design/parts';
import { num, readNumber } from '../format';
import { t, type TextKey } from '../text';
import { englishName, nameHas } from '../text/names';
import { useAsk } from '../use';

const classes: Exercise['class'][] = ['barbell compound', 'supported compound', 'isolation'];
const implementsOf: Exercise['implement'][] = ['barbell', 'dumbbell', 'stack', 'plates', 'added mass', 'kettlebell', 'band', 'bodyweight'];
export const classText = (c: Exercise['class']) => t(`class.${c.replace(' ', '.')}` as TextKey);
const implementText = (i: Exercise['implement']) => t(`implement.${i.replace(' ', '.')}` as TextKey);

// By its English name or another spelling, or by its name in the page's language.
async function found(q: string, cls: string) {
  const all = (text: string) => ask('GET /api/exercises', { query: { q: text, class: cls, limit: 500 } });
  const [first, every] = await Promise.all([all(q), q ? all('') : undefined]);
  const more = every?.exercises.filter((x) => nameHas(x.name, q) && !first.exercises.some((y) => y.exercise === x.exercise)) ?? [];
  return { ...first, total: first.total + more.length, exercises: [...first.exercises, ...more] };
}

export function ExercisesPage({ changed, version }: { changed: () => void; version: number }) {
  const [q, setQ] = useState('');
  const [cls, setCls] = useState('');
  const [edit, setEdit] = useState<Exercise | 'new'>();
  const { data, error, again } = useAsk(() => found(q, cls), `${q}|${cls}|${version}`);
  useEffect(() => {
    document.title = `${t('nav.exercises')} · Ullage`;
  }, []);
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{data ? t('exercises.title', { n: data.total }) : t('nav.exercises')}</h1>
      <div class="line end filters">
        <label class="field"><span>{t('search.exercise')}</span><input type="search" value={q} onInput={(e) => setQ(e.currentTarget.value)} /></label>
        <Choice label={t('class')} value={cls} set={setCls} options={[['', t('class.all')], ...classes.map((c) => [c, classText(c)] as [string, string])]} />
        <button type="button" onClick={() => setEdit('new')}>{t('exercise.new')}</button>
      </div>
      {!data && (error ? <Failure error={error} again={again} /> : <Loading />)}
      {data && data.exercises.length === 0 && <Empty title={t('exercises.no.match')} />}
      {data && data.exercises.length > 0 && (
        <div class="table-scroll" tabIndex={0} role="region" aria-label={t('nav.exercises')}>
          <table>
            <thead><tr><th scope="col">{t('exercise')}</th><th scope="col">{t('class')}</th><th scope="col">{t('implement')}</th><th scope="col">{t('muscles')}</th></tr></thead>
            <tbody>
              {data.exercises.map((x) => (
                <tr key={x.exercise}>
                  <th scope="row"><button type="button" class="plain start name-cell" onClick={() => setEdit(x)}>{x.name}</button>{x.own || x.edited ? <span class="soft small"> {t(x.own ? 'exercise.own' : 'exercise.edited')}</span> : null}</th>
                  <td>{classText(x.class)}</td>
                  <td>{implementText(x.implement)}</td>
                  <td class="soft">{Object.entries(x.muscles).sort((a, b) => b[1] - a[1]).slice(0, 3).map(([m]) => t(`muscle.${m.replace(/[-_]/g, ' ')}` as TextKey)).join(', ')}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {edit && <Edit exercise={edit === 'new' ? undefined : edit} close={() => setEdit(undefined)} done={(text, c) => (setEdit(undefined), tell(text, c), changed(), again())} />}
    </main>
  );
}

function Edit({ exercise, close, done }: { exercise?: Exercise; close: () => void; done: (text: string, change: number) => void }) {
  const [d, setD] = useState({
    name: englishName(exercise?.name ?? ''), aliases: exercise?.aliases.join(', ') ?? '', cls: exercise?.class ?? 'isolation', implement: exercise?.implement ?? 'dumbbell',
    muscles: Object.entries(exercise?.muscles ?? {}).map(([m, s]) => `${m} ${num(s, 2)}`).join('; '), share: num(exercise?.body_mass_share ?? 0, 2), one: exercise?.one_sided ?? false, spotter: exercise?.needs_spotter ?? false,
  });
  const [error, setError] = useState<unknown>();
  const share = readNumber(d.share);
  const muscles = Object.fromEntries(d.muscles.split(';').map((x) => /^\s*(.+?)\s+([\d.,]+)\s*$/.exec(x)).filter(Boolean).map((m) => [m![1]!, readNumber(m![2]!) ?? 0]));
  const save = async (e: Event) => {
    e.preventDefault();
    if (share === undefined) return;
    const id = exercise?.exercise ?? d.name.toLowerCase().normalize('NFD').replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '');
    const body: ExerciseInput = { name: d.name, aliases: d.aliases.split(',').map((x) => x.trim()).filter(Boolean), class: d.cls, implement: d.implement, muscles, body_mass_share: share, one_sided: d.one, needs_spotter: d.spotter };
    try {
      const a = await ask('PUT /api/exercises/{exercise}', { path: { exercise: id }, body });
      done(t('saved'), a.change);
    } catch (x) {
      setError(x);
    }
  };
  const back = async () => {
    try {
      done(t('exercise.back.done'), (await ask('DELETE /api/exercises/{exercise}', { path: { exercise: exercise!.exercise } })).change);
    } catch (x) {
      setError(x);
    }
  };
  return (
    <Dialog title={exercise?.name ?? t('exercise.new')} close={close}>
      <form onSubmit={(e) => void save(e)}>
        <div class="fields">
          <TextField label={t('profile.name')} value={d.name} set={(name) => setD({ ...d, name })} required />
          <TextField label={t('exercise.aliases')} value={d.aliases} set={(aliases) => setD({ ...d, aliases })} />
          <Choice label={t('class')} value={d.cls} set={(v) => setD({ ...d, cls: v as Exercise['class'] })} options={classes.map((c) => [c, classText(c)])} />
          <Choice label={t('implement')} value={d.implement} set={(v) => setD({ ...d, implement: v as Exercise['implement'] })} options={implementsOf.map((i) => [i, implementText(i)])} />
          <TextField label={t('muscles')} hint={t('muscles.hint')} value={d.muscles} set={(v) => setD({ ...d, muscles: v })} />
          <TextField label={t('exercise.share')} hint={t('exercise.share.hint')} inputMode="decimal" value={d.share} set={(v) => setD({ ...d, share: v })} fault={share === undefined ? t('fault.number') : undefined} />
          <Check label={t('exercise.one')} checked={d.one} set={(one) => setD({ ...d, one })} />
          <Check label={t('exercise.spotter')} checked={d.spotter} set={(spotter) => setD({ ...d, spotter })} />
        </div>
        {error !== undefined && <Failure error={error} />}
        <div class="actions">
          <button type="submit" class="first">{t('save')}</button>
          <button type="button" onClick={close}>{t('cancel')}</button>
          {exercise && (exercise.own || exercise.edited) && <button type="button" class="danger" onClick={() => void back()}>{t(exercise.own ? 'exercise.remove' : 'exercise.back')}</button>}
        </div>
      </form>
    </Dialog>
  );
}

// The log: every set, to correct or remove, with undo.
import { useState } from 'preact/hooks';
import { ask, Refusal } from '../api/client';
import type { SessionLineReport, Set as LoggedSet, SetEdit } from '../api/types';
import { Check, Choice, Dialog, Empty, Failure, Loading, Notice, Said, TextField, tell, tellFailure } from '../design/parts';
import { day, load, localDay, num, readNumber } from '../format';
import { t } from '../text';
import { englishName } from '../text/names';
import { useAsk } from '../use';

const PAGE = 60;

export function LogPart({ lifter, exercise, changed, version }: { lifter: string; exercise: string; changed: () => void; version: number }) {
  const [limit, setLimit] = useState(PAGE);
  const [only, setOnly] = useState(exercise);
  const [edit, setEdit] = useState<LoggedSet>();
  const [adding, setAdding] = useState(false);
  const [typing, setTyping] = useState(false);
  const { data, error, again } = useAsk(
    () => ask('GET /api/lifters/{lifter}/sets', { path: { lifter }, query: { exercise: only, limit } }),
    `${lifter}|${only}|${limit}|${version}`,
  );
  const { data: estimate } = useAsk(() => ask('GET /api/lifters/{lifter}/estimate', { path: { lifter } }), lifter);
  const names = new Map((estimate?.exercises ?? []).map((e) => [e.exercise, e.name]));
  if (!data) return error ? <Failure error={error} again={again} /> : <Loading />;
  const remove = async (s: LoggedSet) => {
    try {
      const a = await ask('DELETE /api/sets/{set}', { path: { set: s.id } });
      tell(t('log.removed', { set: `${load(s.load)} × ${s.reps}` }), a.change);
      setEdit(undefined);
      changed();
    } catch (e) {
      tellFailure(e);
    }
  };
  return (
    <>
      <h2 class="unseen">{t('lifter.log')}</h2>
      <div class="line end filters">
        <Choice label={t('exercise')} value={only} set={(v) => (setOnly(v), setLimit(PAGE))}
          options={[['', t('log.every')], ...[...names].map(([id, name]) => [id, name] as [string, string]), ...(only && !names.has(only) ? [[only, only] as [string, string]] : [])]} />
        <button type="button" onClick={() => setAdding(true)}>{t('log.add')}</button>
        <button type="button" onClick={() => setTyping(true)}>{t('line.open')}</button>
      </div>
      {data.sets.length === 0 && <Empty title={t('log.empty')} />}
      {data.sets.length > 0 && (
        <div class="table-scroll" tabIndex={0} role="region" aria-label={t('lifter.log')}>
          <table class="numeric log">
            <thead>
              <tr>
                <th scope="col">{t('date')}</th>
                <th scope="col">{t('exercise')}</th>
                <th scope="col">{t('set')}</th>
                <th scope="col">{t('called')}</th>
                <th scope="col">{t('planned')}</th>
                <th scope="col">{t('log.note')}</th>
                <th scope="col"><span class="unseen">{t('log.edit')}</span></th>
              </tr>
            </thead>
            <tbody>
              {data.sets.map((s, i) => (
                <tr key={s.id} class={i > 0 && data.sets[i - 1]!.date === s.date ? 'same-day' : ''}>
                  <th scope="row">{day(s.date)}</th>
                  <td class="serif">{s.name ?? names.get(s.exercise) ?? s.exercise}{s.side === 'both' ? '' : `, ${t(s.side === 'left' ? 'side.left' : 'side.right')}`}</td>
                  <td>{load(s.load)} × {num(s.reps)}{s.kind === 'work' ? '' : ` · ${t(s.kind === 'test' ? 'kind.test' : 'kind.warmup')}`}</td>
                  <td>{s.failed ? t('vessel.failed') : (s.called_reserve ?? '–')}</td>
                  <td>{s.planned_reps ?? '–'}</td>
                  <td>
                    {s.pain && <span class="harm">{t('pain')} </span>}
                    {s.suspect && <><Said class="harm" of={s.suspect} /> </>}
                    {s.note}
                  </td>
                  <td class="right">
                    <button type="button" class="plain" onClick={() => setEdit(s)}>
                      {t('log.edit')}<span class="unseen"> {day(s.date)} {s.name ?? s.exercise} {load(s.load)} × {s.reps}</span>
                    </button>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {data.total > data.sets.length && (
        <p class="actions">
          <button type="button" onClick={() => setLimit((n) => n + PAGE * 3)}>{t('more.of', { n: Math.min(PAGE * 3, data.total - data.sets.length), all: num(data.total) })}</button>
        </p>
      )}
      {edit && <EditSet set={edit} close={() => setEdit(undefined)} remove={() => void remove(edit)} saved={(c) => (setEdit(undefined), tell(t('log.saved'), c), changed())} />}
      {typing && <TypeSession lifter={lifter} close={() => setTyping(false)} saved={(c, n) => (setTyping(false), tell(t('line.saved', { n }), c), changed())} />}
      {adding && <AddSet lifter={lifter} names={names} close={() => setAdding(false)} saved={(c) => (setAdding(false), tell(t('log.added'), c), changed())} />}
    </>
  );
}

// What is more likely a slip is asked about; what was typed stays.
function Doubt({ error, yes, change }: { error: unknown; yes: () => void; change: () => void }) {
  if (!(error instanceof Refusal) || error.detail.confirm !== 'sure') return error === undefined ? null : <Failure error={error} />;
  return (
    <Notice harm live title={t('doubt.title')}>
      <Said as="p" of={error.message.replace(/^load: /, '')} />
      <div class="actions">
        <button type="button" onClick={yes}>{t('doubt.yes')}</button>
        <button type="button" onClick={change}>{t('doubt.change')}</button>
      </div>
    </Notice>
  );
}

interface Draft {
  date: string;
  amount: string;
  unit: string;
  reps: string;
  called: string;
  failed: boolean;
  kind: string;
  note: string;
}
function draftFaults(d: Draft): Partial<Record<keyof Draft, string>> {
  const f: Partial<Record<keyof Draft, string>> = {};
  if (!/^\d{4}-\d{2}-\d{2}$/.test(d.date)) f.date = t('fault.date');
  if (readNumber(d.amount) === undefined) f.amount = t('fault.number');
  if (!/^\d{1,3}$/.test(d.reps)) f.reps = t('fault.whole');
  if (d.called && !/^(\d{1,2}([.,][05])?|\d+\+)$/.test(d.called)) f.called = t('fault.called');
  return f;
}
function Fields({ d, set, faults }: { d: Draft; set: (d: Draft) => void; faults: Partial<Record<keyof Draft, string>> }) {
  return (
    <div class="fields pair">
      <TextField label={t('date')} type="date" value={d.date} set={(date) => set({ ...d, date })} fault={faults.date} />
      <Choice label={t('kind')} value={d.kind} set={(kind) => set({ ...d, kind })}
        options={[['work', t('kind.work')], ['warmup', t('kind.warmup')], ['test', t('kind.test')]]} />
      <TextField label={`${t('load')} (${d.unit === 'mark' ? t('unit.mark') : d.unit})`} inputMode="decimal" value={d.amount} set={(amount) => set({ ...d, amount })} fault={faults.amount} />
      <TextField label={t('reps.done')} inputMode="numeric" value={d.reps} set={(reps) => set({ ...d, reps })} fault={faults.reps} />
      <TextField label={t('called')} hint={t('called.hint')} value={d.called} set={(called) => set({ ...d, called })} fault={faults.called} />
      <Check label={t('failed.check')} checked={d.failed} set={(failed) => set({ ...d, failed })} />
      <TextField label={t('log.note')} value={d.note} set={(note) => set({ ...d, note })} />
    </div>
  );
}

function EditSet({ set, close, remove, saved }: { set: LoggedSet; close: () => void; remove: () => void; saved: (change: number) => void }) {
  const [d, setD] = useState<Draft>({
    date: set.date, amount: num(set.load.amount, 3).replace(/[\u00a0\u202f' ]/g, ''), unit: set.load.unit, reps: String(set.reps), called: set.called_reserve ?? '',
    failed: set.failed, kind: set.kind, note: set.note,
  });
  const [error, setError] = useState<unknown>();
  const faults = draftFaults(d);
  const save = async (sure = false) => {
    if (Object.keys(faults).length) return;
    const body: SetEdit = {};
    const amount = readNumber(d.amount)!;
    if (d.date !== set.date) body.date = d.date;
    if (amount !== set.load.amount) body.load = { amount, unit: set.load.unit };
    if (Number(d.reps) !== set.reps) body.reps = Number(d.reps);
    if (d.called.replace(',', '.') !== (set.called_reserve ?? '')) body.called_reserve = d.called ? d.called.replace(',', '.') : null;
    if (d.failed !== set.failed) body.failed = d.failed;
    if (d.kind !== set.kind) body.kind = d.kind as LoggedSet['kind'];
    if (d.note !== set.note) body.note = d.note;
    if (!Object.keys(body).length) return close();
    if (sure) body.sure = true;
    try {
      saved((await ask('PATCH /api/sets/{set}', { path: { set: set.id }, body })).change);
    } catch (x) {
      setError(x);
    }
  };
  return (
    <Dialog title={`${set.name ?? set.exercise}, ${day(set.date)}`} close={close}>
      <form onSubmit={(e) => (e.preventDefault(), void save())}>
        <Fields d={d} set={setD} faults={faults} />
        <Doubt error={error} yes={() => void save(true)} change={() => setError(undefined)} />
        <div class="actions">
          <button type="submit" class="first">{t('save')}</button>
          <button type="button" onClick={close}>{t('cancel')}</button>
          <button type="button" class="danger" onClick={remove}>{t('log.remove')}</button>
        </div>
      </form>
    </Dialog>
  );
}

function AddSet({ lifter, names, close, saved }: { lifter: string; names: Map<string, string>; close: () => void; saved: (change: number) => void }) {
  const [exercise, setExercise] = useState([...names.values()][0] ?? '');
  const [unit, setUnit] = useState<'kg' | 'lb' | 'mark'>('kg');
  const [d, setD] = useState<Draft>({ date: localDay(), amount: '', unit: 'kg', reps: '', called: '', failed: false, kind: 'work', note: '' });
  const [error, setError] = useState<unknown>();
  const [tried, setTried] = useState(false);
  const { data } = useAsk(() => ask('GET /api/exercises', { query: { limit: 400 } }), 'all');
  const faults = draftFaults(d);
  const save = async (sure = false) => {
    setTried(true);
    if (Object.keys(faults).length) return;
    try {
      const a = await ask('POST /api/lifters/{lifter}/sets', {
        path: { lifter },
        body: {
          exercise: englishName(exercise), load: { amount: readNumber(d.amount)!, unit }, reps: Number(d.reps), date: d.date, failed: d.failed,
          called_reserve: d.called ? d.called.replace(',', '.') : null, kind: d.kind as LoggedSet['kind'], note: d.note, ...(sure && { sure }),
        },
      });
      saved(a.change);
    } catch (x) {
      setError(x);
    }
  };
  return (
    <Dialog title={t('log.add')} close={close}>
      <form onSubmit={(e) => (e.preventDefault(), void save())}>
        <label class="field">
          <span>{t('exercise')}</span>
          <input list="exercise-names" value={exercise} onInput={(e) => setExercise(e.currentTarget.value)} required />
          <datalist id="exercise-names">{data?.exercises.map((x) => <option key={x.exercise} value={x.name} />)}</datalist>
        </label>
        <Choice label={t('unit')} value={unit} set={(v) => (setUnit(v as typeof unit), setD({ ...d, unit: v }))} options={[['kg', 'kg'], ['lb', 'lb'], ['mark', t('unit.mark')]]} />
        <Fields d={d} set={setD} faults={tried ? faults : {}} />
        <Doubt error={error} yes={() => void save(true)} change={() => setError(undefined)} />
        <div class="actions">
          <button type="submit" class="first">{t('save')}</button>
          <button type="button" onClick={close}>{t('cancel')}</button>
        </div>
      </form>
    </Dialog>
  );
}

// A paper sheet that was filled in, typed in plain words and read back before it is kept.
function TypeSession({ lifter, close, saved }: { lifter: string; close: () => void; saved: (change: number, sets: number) => void }) {
  const [text, setText] = useState('');
  const [date, setDate] = useState(localDay());
  const [read, setRead] = useState<SessionLineReport>();
  const [error, setError] = useState<unknown>();
  const send = async (dry: boolean) => {
    try {
      const a = await ask('POST /api/lifters/{lifter}/session-line', { path: { lifter }, body: { text, date, dry_run: dry, sure: (read?.doubts.length ?? 0) > 0 } });
      setError(undefined);
      if (a.change === null) setRead(a);
      else saved(a.change, a.sets.length);
    } catch (x) {
      setRead(undefined);
      setError(x);
    }
  };
  const changed = (then: () => void) => (then(), setRead(undefined), setError(undefined));
  return (
    <Dialog title={t('line.open')} close={close}>
      <form onSubmit={(e) => (e.preventDefault(), void send(!read))}>
        <TextField label={t('date')} type="date" value={date} set={(v) => changed(() => setDate(v))} />
        <label class="field">
          <span>{t('line.text')}</span>
          <textarea rows={5} value={text} spellcheck={false} required onInput={(e) => { const v = e.currentTarget.value; changed(() => setText(v)); }} />
          <small lang="en">bench press: 100 kg x 8 left 2; x 8 left 1; x 7 failed; rest 180 s</small>
        </label>
        {error instanceof Refusal && error.code === 'invalid_input'
          ? <Pointed message={error.message} />
          : error !== undefined && <Failure error={error} />}
        {read && (
          <div role="status">
            <p>{t('line.read', { n: read.sets.length, day: day(read.date) })}</p>
            <ul>
              {read.sets.map((s, i) => (
                <li key={i}>
                  {s.name}{s.side === 'both' ? '' : `, ${t(s.side === 'left' ? 'side.left' : 'side.right')}`}: {load(s.load)} × {num(s.reps)}
                  {s.failed ? ` · ${t('vessel.failed')}` : s.called_reserve === null ? '' : ` · ${t('called')} ${s.called_reserve}`}
                  {s.pain && <span class="harm"> {t('pain')}</span>}
                </li>
              ))}
            </ul>
            {read.doubts.map((x) => <Said key={x} as="p" class="harm" of={x} />)}
            {[...read.pains.map((p) => t('line.pain', { exercise: p })), ...read.remarks].map((r) => <Said key={r} as="p" of={r} />)}
          </div>
        )}
        <div class="actions">
          <button type="submit" class="first">{!read ? t('line.look') : read.doubts.length ? t('doubt.yes') : t('save')}</button>
          <button type="button" onClick={close}>{t('cancel')}</button>
        </div>
      </form>
    </Dialog>
  );
}

// Each fault is a line, a caret below the character, and what was expected there: the words go below, where they wrap.
function Pointed({ message }: { message: string }) {
  const words: string[] = [];
  const shown = message.split('\n').map((line) => line.replace(/^(\s*\^)\s(.+)$/, (_, caret: string, after: string) => (words.push(after), caret)));
  return (
    <div role="alert">
      <pre class="pointed" tabIndex={0}>{shown.join('\n')}</pre>
      {words.map((w, i) => <Said key={i} as="p" of={w} />)}
    </div>
  );
}

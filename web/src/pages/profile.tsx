// Who a lifter is; taking one on; giving a lifter's data back or away.
import { useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { LifterEdit, LifterInput, LifterPage } from '../api/types';
import { Choice, Dialog, Failure, TextField, tell } from '../design/parts';
import { day, load, localDay, num, readNumber } from '../format';
import { habits } from '../habits';
import { link } from '../router';
import { t } from '../text';
import { useAsk } from '../use';

export interface Draft {
  lifter: string;
  born: string;
  sex: 'female' | 'male' | 'unknown';
  training_years: string;
  goal: string;
  unit: 'kg' | 'lb';
  days_per_week: string;
  minutes_per_session: string;
  place: string;
  avoid: string;
  note: string;
  body_mass: string;
}
export const blank = (): Draft => ({
  lifter: '', born: '', sex: 'unknown', training_years: '', goal: '', unit: habits().unit, days_per_week: '', minutes_per_session: '', place: '', avoid: '', note: '', body_mass: '',
});

function faultsOf(d: Draft) {
  const f: Partial<Record<keyof Draft, string>> = {};
  if (!d.lifter.trim()) f.lifter = t('fault.needed');
  for (const k of ['training_years', 'body_mass'] as const) if (d[k] && readNumber(d[k]) === undefined) f[k] = t('fault.number');
  for (const k of ['days_per_week', 'minutes_per_session'] as const) if (d[k] && !/^\d{1,3}$/.test(d[k])) f[k] = t('fault.whole');
  return f;
}
function wish(d: Draft): LifterInput {
  const out: LifterInput = {
    lifter: d.lifter.trim(), born: d.born || null, sex: d.sex, goal: d.goal, unit: d.unit, place: d.place, note: d.note,
    training_years: d.training_years ? readNumber(d.training_years)! : null,
    avoid: d.avoid.split(',').map((x) => x.trim()).filter(Boolean),
  };
  if (d.days_per_week) out.days_per_week = Number(d.days_per_week);
  if (d.minutes_per_session) out.minutes_per_session = Number(d.minutes_per_session);
  return out;
}

function Fields({ d, set, faults, withMass }: { d: Draft; set: (d: Draft) => void; faults: Partial<Record<keyof Draft, string>>; withMass?: boolean }) {
  const { data } = useAsk(() => ask('GET /api/places'), 'places');
  return (
    <div class="fields pair">
      <TextField label={t('profile.name')} value={d.lifter} set={(v) => set({ ...d, lifter: v })} fault={faults.lifter} autoComplete="off" />
      <TextField label={t('profile.born')} type="date" value={d.born} set={(v) => set({ ...d, born: v })} hint={t('profile.born.hint')} />
      <Choice label={t('profile.sex')} value={d.sex} set={(v) => set({ ...d, sex: v as Draft['sex'] })} options={[['unknown', t('sex.unknown')], ['female', t('sex.female')], ['male', t('sex.male')]]} />
      <TextField label={t('profile.years')} inputMode="decimal" value={d.training_years} set={(v) => set({ ...d, training_years: v })} fault={faults.training_years} />
      <TextField label={t('profile.days')} inputMode="numeric" value={d.days_per_week} set={(v) => set({ ...d, days_per_week: v })} fault={faults.days_per_week} />
      <TextField label={t('profile.minutes')} inputMode="numeric" value={d.minutes_per_session} set={(v) => set({ ...d, minutes_per_session: v })} fault={faults.minutes_per_session} />
      <Choice label={t('unit')} value={d.unit} set={(v) => set({ ...d, unit: v as Draft['unit'] })} options={[['kg', 'kg'], ['lb', 'lb']]} />
      <Choice label={t('profile.place')} value={d.place} set={(v) => set({ ...d, place: v })} options={[['', t('profile.place.none')], ...(data?.places ?? []).map((p) => [p.place, p.name] as [string, string])]} />
      <TextField label={t('profile.goal')} value={d.goal} set={(v) => set({ ...d, goal: v })} />
      <TextField label={t('profile.avoid')} hint={t('profile.avoid.hint')} value={d.avoid} set={(v) => set({ ...d, avoid: v })} />
      {withMass && <TextField label={`${t('body.mass')} (${d.unit})`} inputMode="decimal" value={d.body_mass} set={(v) => set({ ...d, body_mass: v })} fault={faults.body_mass} />}
      <TextField label={t('log.note')} value={d.note} set={(v) => set({ ...d, note: v })} />
    </div>
  );
}

export function NewLifter({ changed }: { changed: () => void }) {
  const [d, setD] = useState(blank);
  const [tried, setTried] = useState(false);
  const [error, setError] = useState<unknown>();
  const faults = faultsOf(d);
  const save = async (e: Event) => {
    e.preventDefault();
    setTried(true);
    if (Object.keys(faults).length) return;
    try {
      const body = wish(d);
      const mass = d.body_mass ? readNumber(d.body_mass) : undefined;
      if (mass !== undefined) body.body_mass = { amount: mass, unit: d.unit };
      const made = await ask('POST /api/lifters', { body });
      tell(t('lifter.taken.on', { name: body.lifter }), made.change);
      changed();
      location.hash = link('lifter', made.profile!.id, 'health');
    } catch (x) {
      setError(x);
    }
  };
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('lifter.new')}</h1>
      <p class="lead">{t('lifter.new.text')}</p>
      <form onSubmit={(e) => void save(e)}>
        <Fields d={d} set={setD} faults={tried ? faults : {}} withMass />
        {error !== undefined && <Failure error={error} />}
        <div class="actions"><button type="submit" class="first">{t('lifter.new')}</button></div>
      </form>
    </main>
  );
}

// Only what was changed here is sent, so that what another coach changed meanwhile stays.
export function changes(before: Draft, now: Draft): LifterEdit {
  const [a, b] = [wish(before), wish(now)] as [Record<string, unknown>, Record<string, unknown>];
  return Object.fromEntries(Object.entries(b).filter(([k, v]) => JSON.stringify(v) !== JSON.stringify(a[k]))) as LifterEdit;
}

export function ProfilePart({ page, changed }: { page: LifterPage; changed: () => void }) {
  const p = page.profile;
  const draft = (): Draft => ({
    lifter: p.lifter, born: p.born ?? '', sex: p.sex, training_years: p.training_years === null ? '' : num(p.training_years, 2), goal: p.goal, unit: p.unit,
    days_per_week: p.days_per_week ? String(p.days_per_week) : '', minutes_per_session: p.minutes_per_session ? String(p.minutes_per_session) : '', place: p.place,
    avoid: p.avoid.join(', '), note: p.note, body_mass: '',
  });
  const [before, setBefore] = useState(draft);
  const [d, setD] = useState(draft);
  const [error, setError] = useState<unknown>();
  const [tried, setTried] = useState(false);
  const [erase, setErase] = useState(false);
  const faults = faultsOf(d);
  const path = { lifter: p.id };
  const save = async (e: Event) => {
    e.preventDefault();
    setTried(true);
    if (Object.keys(faults).length) return;
    const body = changes(before, d);
    if (!Object.keys(body).length) return;
    try {
      const a = await ask('PATCH /api/lifters/{lifter}', { path, body });
      tell(t('saved'), a.change);
      setBefore(d);
      setError(undefined);
      changed();
    } catch (x) {
      setError(x);
    }
  };
  const weigh = async () => {
    const amount = readNumber(d.body_mass);
    if (amount === undefined) return;
    try {
      const a = await ask('POST /api/lifters/{lifter}/body-mass', { path, body: { mass: { amount, unit: d.unit }, date: localDay() } });
      tell(t('saved'), a.change);
      setD({ ...d, body_mass: '' });
      changed();
    } catch (x) {
      setError(x);
    }
  };
  const remove = async () => {
    try {
      const a = await ask('DELETE /api/lifters/{lifter}', { path });
      tell(t('lifter.removed', { name: p.lifter }), a.change);
      changed();
      location.hash = '#/';
    } catch (x) {
      setError(x);
    }
  };
  return (
    <>
      <h2 class="unseen">{t('lifter.profile')}</h2>
      <form onSubmit={(e) => void save(e)}>
        <Fields d={d} set={setD} faults={tried ? faults : {}} />
        {error !== undefined && <Failure error={error} />}
        <div class="actions"><button type="submit" class="first">{t('save')}</button></div>
      </form>
      <h2>{t('body.mass')}</h2>
      <p class="figures">{p.body_mass.length ? p.body_mass.slice(-6).map((m) => `${load(m.mass)} (${day(m.date)})`).join(', ') : t('body.mass.none')}</p>
      <div class="line end filters">
        <TextField label={`${t('body.mass.today')} (${d.unit})`} inputMode="decimal" value={d.body_mass} set={(v) => setD({ ...d, body_mass: v })} fault={faults.body_mass} />
        <button type="button" disabled={readNumber(d.body_mass) === undefined} onClick={() => void weigh()}>{t('body.mass.add')}</button>
      </div>
      <h2>{t('own.data')}</h2>
      <p>{t('own.data.text')}</p>
      <div class="actions">
        <a class="key" href={`api/export?lifter=${encodeURIComponent(p.id)}`} download>{t('export')}</a>
        <button type="button" onClick={() => void remove()}>{t('lifter.remove')}</button>
        <button type="button" class="danger" onClick={() => setErase(true)}>{t('erase')}</button>
      </div>
      {erase && <Erase id={p.id} name={p.lifter} close={() => setErase(false)} done={() => (changed(), (location.hash = '#/'))} />}
    </>
  );
}

function Erase({ id, name, close, done }: { id: string; name: string; close: () => void; done: () => void }) {
  const [typed, setTyped] = useState('');
  const [error, setError] = useState<unknown>();
  const { data } = useAsk(() => ask('GET /api/lifters/{lifter}/held', { path: { lifter: id } }), id);
  const go = async () => {
    try {
      await ask('POST /api/lifters/{lifter}/erase', { path: { lifter: id }, body: { name: typed } });
      tell(t('erased', { name }));
      done();
    } catch (e) {
      setError(e);
    }
  };
  return (
    <Dialog title={t('erase.title', { name })} close={close}>
      <p>{t('erase.text')}</p>
      {data && <p class="soft small">{(data.tables ?? []).filter((x) => x.rows).map((x) => `${x.table}: ${num(x.rows)}`).join(', ')}</p>}
      <TextField label={t('erase.type', { name })} value={typed} set={setTyped} autoComplete="off" />
      {error !== undefined && <Failure error={error} />}
      <div class="actions">
        <button type="button" class="danger" disabled={typed !== name} onClick={() => void go()}>{t('erase')}</button>
        <button type="button" onClick={close}>{t('cancel')}</button>
      </div>
    </Dialog>
  );
}

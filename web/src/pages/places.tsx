// Places, and what can be loaded there.
import { useEffect, useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { Load, Place, PlaceInput } from '../api/types';
import { Blank, Check, Choice, Empty, Failure, Plates, TextField, tell, tellFailure } from '../design/parts';
import { load, num, readNumber } from '../format';
import { t } from '../text';
import { useAsk } from '../use';

export function PlacesPage({ changed, version }: { changed: () => void; version: number }) {
  const { data, error, again } = useAsk(() => ask('GET /api/places'), `${version}`);
  const [edit, setEdit] = useState<Place | 'new'>();
  useEffect(() => {
    document.title = `${t('nav.places')} · Ullage`;
  }, []);
  const remove = async (p: Place) => {
    try {
      tell(t('place.removed', { name: p.name }), (await ask('DELETE /api/places/{place}', { path: { place: p.place } })).change);
      changed();
    } catch (e) {
      tellFailure(e);
    }
  };
  if (!data) return <Blank error={error} again={again} />;
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('nav.places')}</h1>
      <p class="lead">{t('places.text')}</p>
      {data.places.length === 0 && !edit && <Empty title={t('places.none')} />}
      {!edit && data.places.map((p) => (
        <section key={p.place} class="keep">
          <h2>{p.name}</h2>
          {p.bars.length > 0 && <p>{t('bars')}: {p.bars.map((b) => `${b.id} ${load(b.mass)}`).join(', ')}</p>}
          {p.plates.length > 0 && <Plates bar={false} list={[...p.plates].map((x) => x.plate)} />}
          {p.plates.length > 0 && <p class="figures">{t('plate.pairs')}: {p.plates.map((x) => `${load(x.plate)} × ${num(x.pairs)}`).join(', ')}</p>}
          {p.dumbbells.length > 0 && <p class="figures">{t('dumbbells')}: {span(p.dumbbells)}</p>}
          {p.kettlebells.length > 0 && <p class="figures">{t('kettlebells')}: {span(p.kettlebells)}</p>}
          {p.stacks.map((s) => <p key={s.exercise} class="figures">{t('stack')}{s.exercise ? ` (${s.exercise})` : ''}: {span(s.steps)}</p>)}
          <p class="soft">{p.safety_bars ? t('safety.yes') : t('safety.no')}</p>
          <div class="actions"><button type="button" onClick={() => setEdit(p)}>{t('log.edit')}<span class="unseen"> {p.name}</span></button><button type="button" onClick={() => void remove(p)}>{t('place.remove')}<span class="unseen"> {p.name}</span></button></div>
        </section>
      ))}
      {edit ? <Edit place={edit === 'new' ? undefined : edit} close={() => setEdit(undefined)} done={(c) => (setEdit(undefined), tell(t('saved'), c), changed())} />
        : <div class="actions"><button type="button" class="first" onClick={() => setEdit('new')}>{t('place.new')}</button></div>}
    </main>
  );
}

// "2.5–50 kg, 20 steps" for long lists
function span(list: Load[]): string {
  if (list.length <= 4) return list.map(load).join(', ');
  return t('steps', { from: load(list[0]!), to: load(list.at(-1)!), n: list.length });
}

// "20, 15 x 2; 10" -> pairs. Each entry: mass, optionally "x pairs".
export function readPairs(text: string, unit: 'kg' | 'lb'): { plate: Load; pairs: number }[] | undefined {
  const out = [];
  for (const part of text.split(/[;\n]/).map((x) => x.trim()).filter(Boolean)) {
    const m = /^([\d.,]+)\s*(kg|lb)?\s*(?:[x×*]\s*(\d+))?$/i.exec(part);
    const amount = m && readNumber(m[1]!);
    if (!m || amount === undefined || amount === null || amount <= 0) return undefined;
    out.push({ plate: { amount, unit: (m[2]?.toLowerCase() as 'kg' | 'lb') ?? unit }, pairs: m[3] ? Number(m[3]) : 1 });
  }
  return out;
}
// "2.5-50/2.5" or single masses, parted by ;
export function readSteps(text: string, unit: 'kg' | 'lb'): Load[] | undefined {
  const out: Load[] = [];
  for (const part of text.split(/[;\n]/).map((x) => x.trim()).filter(Boolean)) {
    const run = /^([\d.,]+)\s*[-–]\s*([\d.,]+)\s*\/\s*([\d.,]+)$/.exec(part);
    if (run) {
      const [from, to, by] = run.slice(1).map((x) => readNumber(x!));
      if (from === undefined || to === undefined || !by || by <= 0 || (to - from) / by > 500) return undefined;
      for (let i = 0; from + i * by <= to + 1e-9; i++) out.push({ amount: Number((from + i * by).toFixed(4)), unit });
    } else {
      const amount = readNumber(part);
      if (amount === undefined) return undefined;
      out.push({ amount, unit });
    }
  }
  return out;
}
const writeSteps = (list: Load[]) => {
  const a = list.map((l) => l.amount);
  const by = a.length > 2 ? a[1]! - a[0]! : 0;
  if (by > 0 && a.every((x, i) => i === 0 || Math.abs(x - a[i - 1]! - by) < 1e-6)) return `${num(a[0]!, 3)}-${num(a.at(-1)!, 3)}/${num(by, 3)}`;
  return a.map((x) => num(x, 3)).join('; ');
};

function Edit({ place, close, done }: { place?: Place; close: () => void; done: (change: number) => void }) {
  const [d, setD] = useState({
    name: place?.name ?? '', unit: place?.unit ?? ('kg' as 'kg' | 'lb'),
    bars: (place?.bars ?? [{ id: 'long', mass: { amount: 20, unit: 'kg' } as Load }]).map((b) => `${b.id} ${num(b.mass.amount, 2)}`).join('; '),
    plates: place ? place.plates.map((p) => `${num(p.plate.amount, 3)}${p.plate.unit === place.unit ? '' : ` ${p.plate.unit}`} x ${p.pairs}`).join('; ') : '25 x 1; 20 x 1; 15 x 1; 10 x 1; 5 x 1; 2.5 x 1; 1.25 x 1',
    dumbbells: place ? writeSteps(place.dumbbells) : '', kettlebells: place ? writeSteps(place.kettlebells) : '',
    stack: place ? writeSteps(place.stacks.find((s) => !s.exercise)?.steps ?? []) : '', safety: place?.safety_bars ?? false, without: place?.without.join(', ') ?? '',
  });
  const [error, setError] = useState<unknown>();
  const bars = d.bars.split(';').map((x) => x.trim()).filter(Boolean).map((x) => /^(.+?)\s+([\d.,]+)$/.exec(x)).map((m) => (m ? { id: m[1]!, mass: { amount: readNumber(m[2]!) ?? 0, unit: d.unit } as Load } : undefined));
  const plates = readPairs(d.plates, d.unit);
  const dumbbells = readSteps(d.dumbbells, d.unit);
  const kettlebells = readSteps(d.kettlebells, d.unit);
  const stack = readSteps(d.stack, d.unit);
  const bad = bars.some((b) => !b) || !plates || !dumbbells || !kettlebells || !stack || !d.name.trim();
  const save = async (e: Event) => {
    e.preventDefault();
    if (bad) return;
    const body: PlaceInput = {
      name: d.name, unit: d.unit, safety_bars: d.safety, bars: bars as { id: string; mass: Load }[], plates: plates!, dumbbells: dumbbells!, kettlebells: kettlebells!,
      stacks: [...(stack!.length ? [{ exercise: '', steps: stack! }] : []), ...(place?.stacks.filter((s) => s.exercise) ?? [])], without: d.without.split(',').map((x) => x.trim()).filter(Boolean),
    };
    const id = place?.place ?? (d.name.toLowerCase().normalize('NFD').replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '') || 'place');
    try {
      done((await ask('PUT /api/places/{place}', { path: { place: id }, body })).change);
    } catch (x) {
      setError(x);
    }
  };
  const wrong = (x: unknown) => (x === undefined ? t('fault.list') : undefined);
  return (
    <form onSubmit={(e) => void save(e)}>
      <h2>{place ? place.name : t('place.new')}</h2>
      <div class="fields">
        <TextField label={t('profile.name')} value={d.name} set={(name) => setD({ ...d, name })} required />
        <Choice label={t('unit')} value={d.unit} set={(v) => setD({ ...d, unit: v as 'kg' | 'lb' })} options={[['kg', 'kg'], ['lb', 'lb']]} />
        <TextField label={t('bars')} hint={t('bars.hint')} value={d.bars} set={(v) => setD({ ...d, bars: v })} fault={bars.some((b) => !b) ? t('fault.list') : undefined} />
        <TextField label={t('plate.pairs')} hint={t('plate.pairs.hint')} value={d.plates} set={(v) => setD({ ...d, plates: v })} fault={wrong(plates)} />
        <TextField label={t('dumbbells')} hint={t('steps.hint')} value={d.dumbbells} set={(v) => setD({ ...d, dumbbells: v })} fault={wrong(dumbbells)} />
        <TextField label={t('kettlebells')} hint={t('steps.hint')} value={d.kettlebells} set={(v) => setD({ ...d, kettlebells: v })} fault={wrong(kettlebells)} />
        <TextField label={t('stack')} hint={t('steps.hint')} value={d.stack} set={(v) => setD({ ...d, stack: v })} fault={wrong(stack)} />
        <TextField label={t('place.without')} hint={t('profile.avoid.hint')} value={d.without} set={(v) => setD({ ...d, without: v })} />
        <Check label={t('safety.check')} checked={d.safety} set={(v) => setD({ ...d, safety: v })} />
      </div>
      {error !== undefined && <Failure error={error} />}
      <div class="actions"><button type="submit" class="first" disabled={bad}>{t('save')}</button><button type="button" onClick={close}>{t('cancel')}</button></div>
    </form>
  );
}

// The gym floor's memory: nothing lost, nothing logged twice, whatever the network does.
import { expect, test } from 'vitest';
import type { Floor, FloorSetInput, PlanSet } from '../../src/api/types';
import { answered, hardToBelieve, isoWithZone, nextToSend, refused, restBefore, setFromTap, settle, takeBack, tried, view, type Session, type Waiting } from '../../src/floor/session';

const i = (median: number) => ({ median, lo80: median - 1, hi80: median + 1, sd: 0.8 });
const planSet = (reps: number, kind: PlanSet['kind'] = 'work'): PlanSet => ({
  kind, load_kg: 100, load: { amount: 100, unit: 'kg' }, plates: [], reps, rest_s: 180, stop_cue: { called: '1', text: '' }, capacity: i(reps + 2), reserve: i(2), reps_done: i(reps),
  p_complete: 0.9, p_miss: 0.02, p_short: 0.05, p_band: 0.7, to_failure: false,
});
function makeFloor(done: { client_id: string; set: FloorSetInput }[], sets = 6, out: string[] = []): Floor {
  const items = ['bench-press', 'row'].filter((e) => !out.includes(e)).map((exercise) => {
    const n = done.filter((x) => x.set.exercise === exercise).length;
    return {
      exercise, name: exercise, side: 'both' as const, strategy: 'same load' as const, band: [2, 4], miss_limit: 0.1, why: '', remarks: [], minutes: 10,
      sets: [...(n === 0 ? [planSet(5, 'warmup')] : []), ...Array.from({ length: Math.max(0, sets - n) }, () => planSet(8))],
    };
  }).filter((x) => x.sets.some((y) => y.kind === 'work'));
  return {
    lifter: 'Ida', id: 'ida', unit: 'kg', answers_in_halves: false, date: '2026-11-26', session: '', started: '2026-11-26T18:00:00+01:00', finished: null,
    place: { place: 'p', name: 'p', assumed: false, safety_bars: true },
    gate: { allowed: true, holds: [], least_reserve: 0, least_reserve_from: '', extra_reserve: 0, extra_reserve_from: '', load_cap_share: null, load_cap_from: '', barred: [], failure: true, no_failure: '', cautions: [] },
    fitted: true, plan: { lifter: 'Ida', date: '2026-11-26', items, left_out: [], minutes: 20, cautions: [] },
    next: items[0] ? { exercise: items[0].exercise, name: '', side: 'both', set: planSet(8), work_set: 1, work_sets: sets } : null, notes: [], no_next: '',
    done: done.map((x) => ({
      client_id: x.client_id, at: x.set.done_at ?? null, expected: null,
      set: { id: x.client_id, date: '2026-11-26', session: '', exercise: x.set.exercise, side: 'both' as const, load: x.set.load, reps: x.set.reps, failed: x.set.failed ?? false, called_reserve: x.set.called_reserve ?? null, rest_s: null, kind: 'work' as const, stop: 'unknown' as const, planned_reps: null, cue: null, pain: false, note: '' },
    })),
    rest_since: null,
  };
}
const at = (s: number) => new Date(Date.UTC(2026, 10, 26, 18, 0, s));
const fresh = (): Session => ({ floor: makeFloor([]), heard: 0, waiting: [] });
function tap(s: Session, id: string, seconds: number, called: string | null = '2', reps = 8): Session {
  const entry = setFromTap(s, view(s), { reps, called }, at(seconds), id)!;
  return { ...s, waiting: [...s.waiting, entry] };
}

test('a tap shows at once and moves to the next set', () => {
  let s = fresh();
  expect(view(s).now).toMatchObject({ place: 1, of: 6 });
  expect(view(s).now!.warmUps).toHaveLength(1);
  s = tap(s, 'a', 0);
  const v = view(s);
  expect(v.done).toHaveLength(1);
  expect(v.done[0]).toMatchObject({ waiting: true, client_id: 'a' });
  expect(v.now).toMatchObject({ place: 2, of: 6 });
  expect(v.behind).toBe(true);
  expect(v.restSince).toBe(at(0).getTime());
});
test('what was prescribed goes with the set', () => {
  const entry = setFromTap(fresh(), view(fresh()), { reps: 7, called: '1.5' }, at(0), 'a')!;
  expect(entry.input).toMatchObject({ planned_reps: 8, cue: '1', called_reserve: '1.5', kind: 'work', date: '2026-11-26', rest_s: null });
  const missed = setFromTap(fresh(), view(fresh()), { reps: 7, called: '0', failed: true }, at(0), 'b')!;
  expect(missed.input).toMatchObject({ failed: true, called_reserve: null });
});
test('rest before a set leaves the set’s own seconds out and claims nothing after half an hour', () => {
  expect(restBefore(at(0).getTime(), at(180).getTime(), 8)).toBe(156);
  expect(restBefore(null, 0, 8)).toBeNull();
  expect(restBefore(at(0).getTime(), at(10).getTime(), 8)).toBeNull();
  expect(restBefore(at(0).getTime(), at(3600).getTime(), 8)).toBeNull();
});
test('undo: a set that never left the phone is as if it had not been; one that may have left is withdrawn', () => {
  const s = tap(fresh(), 'a', 0);
  expect(takeBack(s, 'a').waiting).toEqual([]);
  const sent = takeBack(tried(s, s.waiting[0]!), 'a');
  expect(sent.waiting).toEqual([{ kind: 'withdraw', client_id: 'a', tries: 0 }]);
  expect(view(sent).done).toHaveLength(0);
});
test('a set that was refused is sent again without the time that may have been the reason; a clash keeps it', () => {
  const s = tap(fresh(), 'a', 0);
  const again = (code: string) => settle(refused(s, s.waiting[0]!, { code, message: 'm' }), 'a', 'again', 'b').waiting[0];
  expect(again('invalid_input')).toMatchObject({ tries: 0, input: { client_id: 'b' } });
  expect(again('invalid_input')).not.toHaveProperty('input.done_at');
  expect(again('clash')).toHaveProperty('input.done_at');
});
test('a set that timed out and was taken back does not stay, whichever of the two arrives first', () => {
  let s = tap(fresh(), 'a', 0);
  s = takeBack(tried(s, s.waiting[0]!), 'a');
  const taken = nextToSend(s)!;
  expect(taken).toMatchObject({ kind: 'withdraw', client_id: 'a' });
  s = answered(tried(s, taken), taken, makeFloor([]), 0);
  expect(view(s).done).toHaveLength(0);
  expect(s.waiting).toEqual([]);
});
test('a clash keeps both in sight, holds up nothing, and is settled by hand', () => {
  let s = tap(tap(fresh(), 'a', 0), 'b', 200);
  const stored = makeFloor([{ client_id: 'a', set: { client_id: 'a', exercise: 'bench-press', load: { amount: 100, unit: 'kg' }, reps: 5 } }]).done[0]!.set;
  s = refused(s, s.waiting[0]!, { code: 'clash', message: 'm', stored });
  expect(nextToSend(s)).toMatchObject({ input: { client_id: 'b' } });
  expect(view(s).done.find((d) => d.client_id === 'a')?.trouble?.stored?.reps).toBe(5);
  expect(settle(s, 'a', 'drop', '').waiting).toHaveLength(1);
  const again = settle(s, 'a', 'again', 'c');
  expect(again.waiting[0]).toMatchObject({ input: { client_id: 'c' }, tries: 0 });
  expect((again.waiting[0] as { trouble?: unknown }).trouble).toBeUndefined();
});
test('pain takes the exercise out before the program has heard of it', () => {
  const s: Session = { ...fresh(), waiting: [{ kind: 'pain', exercise: 'bench-press', note: '', tries: 0 }] };
  expect(view(s).items.map((x) => x.exercise)).toEqual(['row']);
  const withSet = { ...fresh() };
  const entry = setFromTap(withSet, view(withSet), { reps: 3, called: null, pain: true }, at(0), 'x')!;
  expect(view({ ...withSet, waiting: [entry] }).items.map((x) => x.exercise)).toEqual(['row']);
});
test('another exercise can be done first, until it is done', () => {
  const s: Session = { ...fresh(), chosen: { exercise: 'row', side: 'both' } };
  expect(view(s).now!.item.exercise).toBe('row');
  const w = { kind: 'finish', finished: true, tries: 0 } as const;
  expect(view({ ...s, waiting: [w] }).now).toBeNull();
  expect(answered({ ...s, waiting: [w] }, w, makeFloor([], 6, ['row']), 1)).toMatchObject({ waiting: [], chosen: undefined });
});
test('times carry their zone', () => {
  expect(isoWithZone(new Date(2026, 10, 26, 18, 40, 5))).toMatch(/^2026-11-26T18:40:05[+-]\d\d:\d\d$/);
  expect(Date.parse(isoWithZone(at(0)))).toBe(at(0).getTime());
});

// A network that loses requests and answers at random; 200 sessions of taps and undos. In the end the program has every
// set that was tapped and not taken back, once, in the order of the taps.
test('whatever the network does, every set arrives once', () => {
  let seed = 1;
  const random = () => (seed = (seed * 1103515245 + 12345) % 2147483648) / 2147483648;
  let lost = 0;
  let arrived = 0;
  for (let round = 0; round < 200; round++) {
    const program: { client_id: string; set: FloorSetInput }[] = [];
    const used = new Set<string>();
    const receive = (w: Waiting) => {
      if (w.kind === 'set') {
        if (!used.has(w.input.client_id)) {
          used.add(w.input.client_id);
          program.push({ client_id: w.input.client_id, set: w.input });
        }
      } else if (w.kind === 'withdraw') {
        used.add(w.client_id);
        const at2 = program.findIndex((x) => x.client_id === w.client_id);
        if (at2 >= 0) program.splice(at2, 1);
      }
      return makeFloor(program);
    };
    let s = fresh();
    const meant: string[] = [];
    let clock = 0;
    let n = 0;
    const deliver = (loss: number) => {
      const w = nextToSend(s);
      if (!w) return;
      s = tried(s, w);
      if (random() < loss) return void lost++; // the request is lost
      const floor = receive(structuredClone(w));
      if (random() < loss) return void lost++; // the answer is lost
      s = answered(s, w, floor, 0);
      arrived++;
    };
    for (let step = 0; step < 25; step++) {
      const what = random();
      if (what < 0.45 && view(s).now) {
        const id = `s${n++}`;
        s = tap(s, id, (clock += 200));
        meant.push(id);
      } else if (what < 0.55 && meant.length) {
        const id = meant.pop()!;
        s = takeBack(s, id);
      } else if (what < 0.65) {
        s = JSON.parse(JSON.stringify(s)) as Session; // a reload
      } else deliver(0.4);
      if (view(s).done.map((d) => d.client_id).join() !== meant.join()) throw new Error(`round ${round}, step ${step}`);
    }
    for (let k = 0; k < 200 && nextToSend(s); k++) deliver(0.2);
    while (nextToSend(s)) deliver(0);
    expect(program.map((x) => x.client_id)).toEqual(meant);
    expect(view(s).done.map((d) => d.client_id)).toEqual(meant);
    expect(s.waiting).toEqual([]);
  }
  expect(lost).toBeGreaterThan(500);
  expect(arrived).toBeGreaterThan(500);
}, 30000);

test('more reps than a set can hold are asked about, a set that only went well is not', () => {
  const set = planSet(8); // about 10, at most 11
  for (const reps of [0, 8, 12, 16, 20]) expect(hardToBelieve(set, reps)).toBe(false);
  for (const reps of [23, 80]) expect(hardToBelieve(set, reps)).toBe(true);
  expect(hardToBelieve({ ...set, capacity: i(1) }, 7)).toBe(false);
  expect(hardToBelieve({ ...set, capacity: i(1) }, 9)).toBe(true);
});

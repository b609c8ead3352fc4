// A session on the gym floor as this phone knows it: what the program last said, and what was done here since and is not
// with the program yet. Pure: time and ids come in.
import type { Floor, FloorSetInput, PlanItem, PlanSet, Set as LoggedSet, Side } from '../api/types';

export interface SetWaiting {
  kind: 'set';
  input: FloorSetInput;
  planned: PlanSet | null; // what stood there when it was done
  tries: number; // how often it was sent without an answer
  trouble?: Trouble;
}
export interface Withdrawal {
  kind: 'withdraw';
  client_id: string;
  tries: number;
}
export interface PainWaiting {
  kind: 'pain';
  exercise: string;
  note: string;
  tries: number;
}
export interface FinishWaiting {
  kind: 'finish';
  finished: boolean;
  tries: number;
}
export interface Trouble {
  code: string;
  message: string;
  stored?: LoggedSet; // a clash: what the program has under this id
}
export type Waiting = SetWaiting | Withdrawal | PainWaiting | FinishWaiting;

export interface Session {
  floor: Floor;
  heard: number; // when the program said so, ms
  waiting: Waiting[]; // in the order they happened
  chosen?: { exercise: string; side: Side }; // done before what the plan has next
  refusal?: string; // the program's no to something that was no set
}

export interface DoneHere {
  client_id: string | null;
  set: Pick<LoggedSet, 'exercise' | 'side' | 'load' | 'reps' | 'failed' | 'called_reserve' | 'kind' | 'planned_reps' | 'pain'> & {
    id?: string;
  };
  capacity: PlanSet['capacity'] | null;
  waiting: boolean;
  trouble?: Trouble;
  at: number | null;
}

export interface Now {
  item: PlanItem;
  set: PlanSet;
  warmUps: PlanSet[];
  place: number; // which work set of this exercise, from 1
  of: number;
}

export interface View {
  done: DoneHere[];
  items: PlanItem[]; // what is left, in order
  now: Now | null;
  finished: boolean;
  behind: boolean; // sets stand as planned before the last ones done here
  restSince: number | null;
}

export const same = (a: { exercise: string; side?: Side }, b: { exercise: string; side?: Side }) =>
  a.exercise === b.exercise && (a.side ?? 'both') === (b.side ?? 'both');

export function view(s: Session): View {
  const withdrawn = new Set(s.waiting.filter((w) => w.kind === 'withdraw').map((w) => (w as Withdrawal).client_id));
  const known = new Set(s.floor.done.map((d) => d.client_id));
  const done: DoneHere[] = s.floor.done
    .filter((d) => !d.client_id || !withdrawn.has(d.client_id))
    .map((d) => ({
      client_id: d.client_id,
      set: d.set,
      capacity: d.expected?.capacity ?? null,
      waiting: false,
      at: d.at ? Date.parse(d.at) : null,
    }));
  let items = (s.floor.plan?.items ?? []).map((i) => ({ ...i, sets: [...i.sets] }));
  let finished = s.floor.finished !== null;
  let behind = false;
  for (const w of s.waiting) {
    if (w.kind === 'finish') finished = w.finished;
    if (w.kind === 'pain') items = items.filter((i) => i.exercise !== w.exercise);
    if (w.kind !== 'set' || known.has(w.input.client_id)) continue;
    const i = w.input;
    done.push({
      client_id: i.client_id,
      set: {
        exercise: i.exercise,
        side: i.side ?? 'both',
        load: i.load,
        reps: i.reps,
        failed: i.failed ?? false,
        called_reserve: i.called_reserve ?? null,
        kind: i.kind ?? 'work',
        planned_reps: i.planned_reps ?? null,
        pain: i.pain ?? false,
      },
      capacity: w.planned?.capacity ?? null,
      waiting: true,
      trouble: w.trouble,
      at: i.done_at ? Date.parse(i.done_at) : null,
    });
    if (w.trouble) continue;
    behind = true;
    const item = items.find((x) => same(x, i));
    if (item) {
      const first = item.sets.findIndex((x) => x.kind !== 'warmup');
      if (first >= 0) item.sets.splice(0, first + 1);
    }
    if (i.pain) items = items.filter((x) => x.exercise !== i.exercise);
  }
  items = items.filter((i) => i.sets.some((x) => x.kind !== 'warmup'));
  const next = s.floor.next;
  const item =
    items.find((i) => s.chosen && same(i, s.chosen)) ?? items.find((i) => next && !behind && same(i, next)) ?? items[0];
  let now: Now | null = null;
  if (item && !finished) {
    const first = item.sets.findIndex((x) => x.kind !== 'warmup');
    const before = done.filter((d) => same(d.set, item) && d.set.kind !== 'warmup' && !d.trouble).length;
    now = {
      item,
      set: item.sets[first]!,
      warmUps: item.sets.slice(0, first),
      place: before + 1,
      of: before + item.sets.length - first,
    };
  }
  const times = done.map((d) => d.at ?? 0);
  if (s.floor.rest_since) times.push(Date.parse(s.floor.rest_since));
  const restSince = done.length ? Math.max(0, ...times) || null : null;
  return { done, items, now, finished, behind, restSince };
}

// Seconds under the load are no rest: about 3 a rep (common practice, no source). Above half an hour nothing is claimed.
export const SECONDS_A_REP = 3;
export function restBefore(restSince: number | null, at: number, reps: number): number | null {
  if (!restSince) return null;
  const rest = Math.round((at - restSince) / 1000 - reps * SECONDS_A_REP);
  return rest < 0 || rest > 1800 ? null : rest;
}

export interface Tap {
  reps: number;
  called: string | null; // "0".."4.5", "5+"
  failed?: boolean;
  pain?: boolean;
  note?: string;
}
// More reps than this set can hold by any measure: more likely a slip of the finger. Works without the program, and says
// nothing of a set that only went well.
export function hardToBelieve(set: PlanSet, reps: number): boolean {
  return reps > Math.max(2 * set.capacity.hi80, set.capacity.hi80 + 6);
}

export function setFromTap(s: Session, v: View, tap: Tap, at: Date, id: string): SetWaiting | null {
  if (!v.now) return null;
  const { item, set } = v.now;
  const input: FloorSetInput = {
    client_id: id,
    exercise: item.exercise,
    side: item.side,
    load: set.load,
    reps: tap.reps,
    date: s.floor.date,
    session: s.floor.session,
    called_reserve: tap.failed ? null : tap.called,
    failed: tap.failed ?? false,
    rest_s: restBefore(v.restSince, at.getTime(), tap.reps),
    kind: set.kind,
    planned_reps: set.reps,
    cue: set.stop_cue ? set.stop_cue.called : null,
    pain: tap.pain ?? false,
    done_at: isoWithZone(at),
  };
  if (tap.note) input.note = tap.note;
  return { kind: 'set', input, planned: set, tries: 0 };
}

export function isoWithZone(at: Date): string {
  const zone = -at.getTimezoneOffset();
  const two = (n: number) => String(Math.floor(Math.abs(n))).padStart(2, '0');
  const local = new Date(at.getTime() + zone * 60000).toISOString().slice(0, 19);
  return `${local}${zone < 0 ? '-' : '+'}${two(zone / 60)}:${two(Math.abs(zone) % 60)}`;
}

// Takes the last set of this phone back. Never sent: it is as if it had not been. Sent, or perhaps sent: the program is
// asked to withdraw it, which also works before the set arrives there.
export function takeBack(s: Session, client_id: string): Session {
  const waiting = s.waiting.find((w) => w.kind === 'set' && w.input.client_id === client_id) as SetWaiting | undefined;
  const rest = s.waiting.filter((w) => w !== waiting);
  if (waiting && waiting.tries === 0) return { ...s, waiting: rest };
  return { ...s, waiting: [...rest, { kind: 'withdraw', client_id, tries: 0 }] };
}

// What the program said about the first thing waiting.
export function answered(s: Session, entry: Waiting, floor: Floor, at: number): Session {
  const chosen = s.chosen && (floor.plan?.items ?? []).some((i) => same(i, s.chosen!)) ? s.chosen : undefined;
  return { ...s, floor, heard: at, chosen, waiting: s.waiting.filter((w) => !sameEntry(w, entry)) };
}
export function refused(s: Session, entry: Waiting, trouble: Trouble): Session {
  return {
    ...s,
    refusal: entry.kind === 'set' ? s.refusal : trouble.message,
    waiting: s.waiting.flatMap((w) => {
      if (!sameEntry(w, entry)) return [w];
      return w.kind === 'set' ? [{ ...w, trouble }] : [];
    }),
  };
}
export function tried(s: Session, entry: Waiting): Session {
  return { ...s, waiting: s.waiting.map((w) => (sameEntry(w, entry) ? { ...w, tries: w.tries + 1 } : w)) };
}
// After trouble: forget this phone's set, or log it as a set of its own under a new id.
export function settle(s: Session, client_id: string, how: 'drop' | 'again', newId: string): Session {
  return {
    ...s,
    waiting: s.waiting.flatMap((w) => {
      if (w.kind !== 'set' || w.input.client_id !== client_id) return [w];
      if (how === 'drop') return [];
      const input = { ...w.input, client_id: newId };
      // What was refused may have been the time by a clock that was wrong: the program's counts then.
      if (w.trouble && w.trouble.code !== 'clash') delete input.done_at;
      return [{ ...w, trouble: undefined, tries: 0, input }];
    }),
  };
}
function sameEntry(a: Waiting, b: Waiting): boolean {
  if (a.kind !== b.kind) return false;
  if (a.kind === 'set' && b.kind === 'set') return a.input.client_id === b.input.client_id;
  if (a.kind === 'withdraw' && b.kind === 'withdraw') return a.client_id === b.client_id;
  if (a.kind === 'pain' && b.kind === 'pain') return a.exercise === b.exercise;
  return true;
}
export function nextToSend(s: Session): Waiting | undefined {
  return s.waiting.find((w) => !(w.kind === 'set' && w.trouble));
}

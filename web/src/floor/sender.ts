// Sends what waits, in order, one at a time, until the program has it. Sending the same thing twice does no harm: a set
// carries its own id and the program logs an id once.
import { Away, Refusal, ask } from '../api/client';
import type { Floor } from '../api/types';
import { keepSession, keptSession } from './keep';
import { answered, nextToSend, refused, tried, type Session, type Waiting } from './session';

const SOON = 3000;
const LATER = 30000;

const running = new Set<string>();
const listeners = new Set<(key: string) => void>();
let failures = 0;
const timers = new Map<string, ReturnType<typeof setTimeout>>();
const wanted = new Set<string>();

export function onSession(listener: (key: string) => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
export function tell(key: string): void {
  for (const l of listeners) l(key);
}
export function change(key: string, edit: (s: Session) => Session): Session | undefined {
  const s = keptSession(key) ?? memory.get(key);
  if (!s) return undefined;
  const next = edit(s);
  store(key, next);
  return next;
}
// For browsers that keep nothing: this visit still works.
const memory = new Map<string, Session>();
export function store(key: string, s: Session): void {
  if (keepSession(key, s)) memory.delete(key);
  else memory.set(key, s);
  tell(key);
}
export function current(key: string): Session | undefined {
  return memory.get(key) ?? keptSession(key);
}
export const keepsNothing = () => memory.size > 0;

async function send(s: Session, w: Waiting): Promise<Floor> {
  const lifter = s.floor.id;
  const { date, session } = s.floor;
  switch (w.kind) {
    case 'set':
      return (await ask('POST /api/lifters/{lifter}/floor/sets', { path: { lifter }, body: w.input, timeout: 8000 })).floor;
    case 'withdraw':
      return (
        await ask('DELETE /api/lifters/{lifter}/floor/sets/{client_id}', {
          path: { lifter, client_id: w.client_id },
          query: { date, session },
          timeout: 8000,
        })
      ).floor;
    case 'pain':
      return (
        await ask('POST /api/lifters/{lifter}/floor/pain', {
          path: { lifter },
          body: { exercise: w.exercise, note: w.note, date, session },
          timeout: 8000,
        })
      ).floor;
    case 'finish':
      return (
        await ask('POST /api/lifters/{lifter}/floor/finish', {
          path: { lifter },
          body: { finished: w.finished, date, session },
          timeout: 8000,
        })
      ).floor;
  }
}

export async function push(key: string): Promise<void> {
  if (running.has(key)) {
    wanted.add(key);
    return;
  }
  running.add(key);
  try {
    for (;;) {
      const s = current(key);
      const w = s && nextToSend(s);
      if (!s || !w) break;
      change(key, (x) => tried(x, w));
      try {
        const floor = await send(s, w);
        failures = 0;
        change(key, (x) => answered(x, w, floor, Date.now()));
      } catch (e) {
        if (e instanceof Refusal && e.status < 500 && e.status !== 408 && e.status !== 429) {
          change(key, (x) => refused(x, w, { code: e.code, message: e.message, stored: e.detail.stored }));
          continue;
        }
        if (!(e instanceof Away) && !(e instanceof Refusal)) throw e;
        failures++;
        clearTimeout(timers.get(key));
        timers.set(key, setTimeout(() => void push(key), Math.min(LATER, SOON * failures)));
        break;
      }
    }
  } finally {
    running.delete(key);
    if (wanted.delete(key)) void push(key);
  }
}
export function whenBack(keys: () => string[]): () => void {
  const all = () => {
    if (document.visibilityState !== 'hidden') for (const k of keys()) void push(k);
  };
  const other = (e: StorageEvent) => {
    if (e.key) tell(e.key);
  };
  addEventListener('online', all);
  document.addEventListener('visibilitychange', all);
  addEventListener('storage', other);
  return () => {
    removeEventListener('online', all);
    document.removeEventListener('visibilitychange', all);
    removeEventListener('storage', other);
  };
}

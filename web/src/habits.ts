// Habits of the user: language, numbers, dates, clock, paper, scheme. The program keeps them; the browser remembers the
// last it heard, so that the first paint is right and the gym floor reads the same with no signal.
import type { Settings } from './api/types';

export type Habits = Settings;

const KEY = 'ullage.habits';

export function defaults(language: string): Habits {
  const de = language.toLowerCase().startsWith('de');
  const us = /^en-us$/i.test(language);
  return {
    language: de ? 'de' : 'en',
    unit: us ? 'lb' : 'kg',
    date_format: us ? 'mdy' : 'dmy',
    decimal: de ? 'comma' : 'dot',
    paper: us ? 'letter' : 'a4',
    week_start: us ? 'sunday' : 'monday',
    theme: 'auto',
    clock: us ? '12' : '24',
  };
}

let current: Habits | undefined;
const listeners = new Set<() => void>();

function read(): Habits {
  const base = defaults(typeof navigator === 'undefined' ? 'en-GB' : navigator.language || 'en-GB');
  try {
    return { ...base, ...(JSON.parse(localStorage.getItem(KEY) ?? '{}') as Partial<Habits>) };
  } catch {
    return base;
  }
}
export function habits(): Habits {
  return (current ??= read());
}
export function setHabits(change: Partial<Habits>): void {
  current = { ...habits(), ...change };
  try {
    localStorage.setItem(KEY, JSON.stringify(current));
  } catch {
    // A browser that keeps nothing still works for this visit.
  }
  for (const l of listeners) l();
}
export function onHabits(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

// Habits of whoever uses this browser: language, numbers and dates, units, paper, scheme. Kept in the browser only.
export interface Habits {
  language: 'en' | 'de';
  region: string; // BCP 47, for numbers and dates
  clock: '24' | '12';
  unit: 'lifter' | 'kg' | 'lb'; // for strength and the like; loads stay as they were written
  paper: 'a4' | 'letter';
  scheme: 'system' | 'light' | 'dark';
  weekStart: 'monday' | 'sunday';
}

const KEY = 'ullage.habits';

export function defaults(language: string): Habits {
  const de = language.toLowerCase().startsWith('de');
  const us = /^en-us$/i.test(language);
  return {
    language: de ? 'de' : 'en',
    region: de ? 'de-DE' : us ? 'en-US' : 'en-GB',
    clock: us ? '12' : '24',
    unit: 'lifter',
    paper: us ? 'letter' : 'a4',
    scheme: 'system',
    weekStart: us ? 'sunday' : 'monday',
  };
}

let current: Habits | undefined;
const listeners = new Set<() => void>();

function read(): Habits {
  const base = defaults(typeof navigator === 'undefined' ? 'en-GB' : navigator.language || 'en-GB');
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? '{}') as Partial<Habits>;
    return { ...base, ...kept };
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
export function massUnit(lifterUnit: string | undefined): 'kg' | 'lb' {
  const unit = habits().unit;
  if (unit !== 'lifter') return unit;
  return lifterUnit === 'lb' ? 'lb' : 'kg';
}

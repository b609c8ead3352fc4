// The exercises of the library in the page's language: data (data/words/exercises_de.json, by the English name), fetched
// after the page. What a coach named stays as it is. The program speaks of exercises in English: answers are read with
// these names, and what is typed goes back in English.
type Names = Readonly<Record<string, string>>;

let names: Names = {};
let english: ReadonlyMap<string, string> = new Map();
const heard = new Set<() => void>();

export function setNames(now: Names): void {
  if (now === names) return;
  names = now;
  english = new Map(Object.entries(now).map(([e, other]) => [other.toLowerCase(), e]));
  for (const listen of heard) listen();
}
export function onNames(listen: () => void): () => void {
  heard.add(listen);
  return () => heard.delete(listen);
}
export const exerciseName = (name: string): string => names[name] ?? name;
export const englishName = (typed: string): string => english.get(typed.trim().toLowerCase()) ?? typed;
// Whether a name of the page's language has what is looked for.
export const nameHas = (name: string, q: string): boolean => exerciseName(name).toLowerCase().includes(q.trim().toLowerCase());
// Every exercise that an answer names ("exercise" with its "name"), in place.
export function withNames<T>(answer: T): T {
  if (english.size) walk(answer);
  return answer;
}
function walk(value: unknown): void {
  if (Array.isArray(value)) {
    for (const v of value) walk(v);
  } else if (value && typeof value === 'object') {
    const o = value as Record<string, unknown>;
    if (typeof o.exercise === 'string' && typeof o.name === 'string') o.name = exerciseName(o.name);
    for (const k in o) if (typeof o[k] === 'object') walk(o[k]);
  }
}

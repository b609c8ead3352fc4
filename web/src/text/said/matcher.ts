// Sentences by patterns: [English, other language]. A place in a pattern is named in braces, and the first letter of its name
// says what stands there:
//   n number            "12.5", with the page's decimal sign; in the other language {n:Satz|Sätze} is the word for one, or more
//   p share             "12 %", "under 1 %", "over 99 %"
//   q quantity          any text; the numbers in it get the page's decimal sign
//   d day               "2026-03-09", as the page writes days
//   w weekday, m muscle by the catalogue
//   t text              said by the patterns in turn; without one for it this pattern does not fit
//   y text              said by the patterns in turn, or left as it is (what people wrote)
//   c list              its parts (", ") one by one, like y
//   x text              left as it is (names)
//   o own name          like x, but nothing that is a sentence
//   k piece             like x, without a colon
//   f field             a name of lower-case letters, as the interface has them; left as it is
// "(s)" in the English is an s or none. Several sentences in a row, or parts with "; " between, are said one by one where each
// of them can be, so that no place swallows a sentence; else as a whole.
import type { Sayer } from '../said';

export type Pattern = readonly [english: string, other: string];
export type Says = {
  decimal: () => string;
  day: (iso: string) => string;
  weekday: (english: string) => string | undefined;
  muscle: (english: string) => string | undefined;
  name?: (english: string) => string; // of an exercise; others as they are
  words: readonly (readonly [RegExp, string])[]; // within shares and quantities
};

const PLACE = /\{([a-z]\w*)(?::([^{}|]*)\|([^{}|]*))?\}/g;
const NUMBER = '[-+−]?\\d+(?:\\.\\d+)?(?:e[-+]?\\d+)?';
const SENTENCE = /\b(?:is|are|was|were|the|what|of|to|it|and|or|no|not|for|this|that|at|by|with)\b/i;
const inside: Record<string, string> = {
  n: NUMBER,
  p: '(?:under |over )?\\d+(?:\\.\\d+)? %',
  d: '\\d{4}-\\d{2}-\\d{2}',
  w: 'Mon|Tue|Wed|Thu|Fri|Sat|Sun',
  k: '[^:]+?',
  f: '[a-z][a-z0-9_.]*',
};

type Compiled = { names: string[]; source: string; fits?: RegExp; greedy?: RegExp; begins: string; ends: string; other: string; weight: number; place: number };

const plain = (s: string) => s.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
const words = (s: string) => s.match(/[A-Za-z]{2,}/g) ?? [];

function compile([english, other]: Pattern, place: number): Compiled {
  const names: string[] = [];
  let source = '';
  let at = 0;
  for (const m of english.matchAll(PLACE)) {
    source += plain(english.slice(at, m.index));
    const name = m[1]!;
    const again = names.indexOf(name);
    source += again < 0 ? `(${inside[name[0]!] ?? '.+?'})` : `\\${again + 1}`;
    if (again < 0) names.push(name);
    at = m.index + m[0].length;
  }
  source += plain(english.slice(at));
  const fixed = english.replaceAll('(s)', '{s}').split(/\{[^{}]*\}/);
  return {
    names,
    source: `^${source.replaceAll('\\(s\\)', 's?')}$`,
    begins: fixed[0]!,
    ends: fixed.at(-1)!,
    other,
    weight: english.replace(PLACE, '').length,
    place,
  };
}
// Words that are in every sentence of the pattern: whole ones, away from places and from "(s)".
const sure = (english: string) => words(english.replace(PLACE, '0').replace(/\w+\(s\)/g, ' ').replace(/[A-Za-z]+0|0[A-Za-z]+/g, ' '));

export function sayerOf(patterns: readonly Pattern[], says: Says): Sayer {
  const often = new Map<string, number>();
  for (const [english] of patterns) for (const w of new Set(sure(english))) often.set(w, (often.get(w) ?? 0) + 1);
  const byWord = new Map<string, Compiled[]>();
  const loose: Compiled[] = [];
  patterns.forEach((p, i) => {
    const rarest = sure(p[0]).sort((a, b) => often.get(a)! - often.get(b)! || b.length - a.length)[0];
    const list = rarest === undefined ? loose : byWord.get(rarest) ?? byWord.set(rarest, []).get(rarest)!;
    list.push(compile(p, i));
  });

  const figure = (s: string) => s.replace(/^-/, '−').replace('.', says.decimal());
  const figures = (s: string) => s.replace(/\d\.\d/g, (x) => x.replace('.', says.decimal())).replace(/(^|[ (])-(?=\d)/g, '$1−');
  const quantity = (s: string) => says.words.reduce((x, [from, to]) => x.replace(from, to), figures(s));
  const named = (s: string) => says.name?.(s) ?? s;
  function part(kind: string, value: string): string | undefined {
    switch (kind) {
      case 'n': return figure(value);
      case 'p':
      case 'q': return quantity(value);
      case 'd': return says.day(value);
      case 'w': return says.weekday(value);
      case 'm': return says.muscle(value);
      case 't': return say(value);
      case 'y': return say(value) ?? named(value);
      case 'c': return value.split(', ').map((v) => say(v) ?? named(v)).join(', ');
      case 'o': return SENTENCE.test(value) ? undefined : named(value);
      default: return named(value);
    }
  }
  function byPattern(text: string): string | undefined {
    const found: Compiled[] = [];
    const take = (list: Compiled[] | undefined) => {
      for (const c of list ?? []) if (text.startsWith(c.begins) && text.endsWith(c.ends) && !found.includes(c)) found.push(c);
    };
    take(loose);
    for (const w of words(text)) take(byWord.get(w));
    found.sort((a, b) => b.weight - a.weight || a.place - b.place);
    for (const c of found) {
      const near = (c.fits ??= new RegExp(c.source, 's')).exec(text); // made when first wanted
      if (!near) continue;
      // Where a place could end sooner or later ("start of the session of Ada"): sooner first, then later.
      const out = filled(c, near) ?? filled(c, (c.greedy ??= new RegExp(c.source.replaceAll('.+?', '.+'), 's')).exec(text)!);
      if (out !== undefined) return out;
    }
    return undefined;
  }
  function filled(c: Compiled, m: RegExpExecArray): string | undefined {
    const given: Record<string, string> = {};
    const raw: Record<string, string> = {};
    for (const [i, name] of c.names.entries()) {
      const value = part(name[0]!, m[i + 1]!);
      if (value === undefined) return undefined;
      given[name] = value;
      raw[name] = m[i + 1]!;
    }
    return c.other.replace(PLACE, (all, name: string, one?: string, more?: string) =>
      name in given ? (one === undefined ? given[name]! : Math.abs(Number(raw[name])) === 1 ? one : more!) : all);
  }
  function inParts(text: string, at: RegExp, glue: string): string | undefined {
    const parts = text.split(at);
    if (parts.length < 2) return undefined;
    const out = parts.map((p) => say(p));
    return out.every((p) => p !== undefined) ? out.join(glue) : undefined;
  }
  const known = new Map<string, string | undefined>();
  function say(text: string): string | undefined {
    if (known.has(text)) return known.get(text);
    if (known.size > 4000) known.clear();
    known.set(text, undefined); // a text is never said by way of itself
    const out = text.length > 4000 || !text.trim() ? undefined : inParts(text, /\n/, '\n') ?? inParts(text, /(?<=[.!?]) (?=["'A-Z0-9])/, ' ') ?? inParts(text, /; /, '; ') ?? byPattern(text);
    known.set(text, out);
    return out;
  }
  return say;
}

import { readFileSync, readdirSync } from 'node:fs';
import { expect, test } from 'vitest';
import { fill } from '../../src/text';
import { de } from '../../src/text/de';
import { en, type Text } from '../../src/text/en';

const forms = (x: Text) => (typeof x === 'string' ? [x] : [x.one, x.other]);
const names = (x: Text) => [...new Set(forms(x).flatMap((f) => [...f.matchAll(/\{(\w+)\}/g)].map((m) => m[1]!)))].sort();

test('both languages fill in the same values', () => {
  for (const key of Object.keys(en) as (keyof typeof en)[]) {
    expect(names(de[key]), key).toEqual(names(en[key]));
    for (const f of [...forms(en[key]), ...forms(de[key])]) expect(f.trim().length, key).toBeGreaterThan(0);
  }
  expect(Object.keys(de).sort()).toEqual(Object.keys(en).sort());
});

test('German is German', () => {
  // Texts may be alike where the words are (Name, kg); long sentences may not.
  const alike = (Object.keys(en) as (keyof typeof en)[]).filter((k) => JSON.stringify(en[k]) === JSON.stringify(de[k]) && forms(en[k]).some((f) => f.split(' ').length > 3));
  expect(alike.filter((k) => forms(en[k as keyof typeof en]).some((f) => /[a-z]{4,} [a-z]{4,}/i.test(f)))).toEqual([]);
});

test('every text is used', () => {
  const root = new URL('../../src/', import.meta.url);
  const files = (readdirSync(root, { recursive: true }) as string[]).filter((f) => /\.tsx?$/.test(f) && !f.startsWith('text/'));
  const source = files.map((f) => readFileSync(new URL(f, root), 'utf8')).join('\n');
  const made = /^(reason|class|implement|policy|drawn|unit|nav|field|ev\.group|muscle|plan\.state|plan\.kind)\./; // put together from a value
  expect(Object.keys(en).filter((k) => !made.test(k) && !source.includes(`'${k}'`))).toEqual([]);
});

test('plural', () => {
  const rules = new Intl.PluralRules('en');
  expect(fill({ one: '{n} set', other: '{n} sets' }, { n: 1 }, rules)).toBe('1 set');
  expect(fill({ one: '{n} set', other: '{n} sets' }, { n: 0 }, rules)).toBe('0 sets');
  expect(fill('{a} {missing}', { a: 1 }, rules)).toBe('1 {missing}');
});

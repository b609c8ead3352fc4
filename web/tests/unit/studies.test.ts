import { expect, test } from 'vitest';
import { ends } from '../../src/design/Evidence';
import { studyColumns, studyMapping } from '../../src/studies';

test('a study mapping names what was picked and keeps the rest under its own name', () => {
  expect(studyMapping({}, ['a'])).toBe('');
  expect(studyMapping({ study: 'Code', effect: 'g "raw"' }, ['Code', 'g "raw"', 'Weeks', 'study', 'Weeks'])).toBe('[columns]\nstudy = "Code"\neffect = "g \\"raw\\""\n"Weeks" = "Weeks"\n');
});

test('every column of a study table is offered once', () => {
  const all = studyColumns.flatMap(([, c]) => c);
  expect(new Set(all).size).toBe(all.length);
});

test('a few wide intervals do not decide the scale of a forest', () => {
  const lines = Array.from({ length: 20 }, (_, i) => ({ name: `${i}`, mid: 0.1, lo: -0.2, hi: 0.4 }));
  const [lo, hi] = ends([...lines, { name: 'wide', mid: 0, lo: -20, hi: 20 }]);
  expect(lo).toBeGreaterThan(-1);
  expect(hi).toBeLessThan(1);
  expect(ends([{ name: 'one', mid: 5, lo: 4, hi: 6 }])[0]).toBeLessThan(0); // 0 is always there
});

import { expect, test } from 'vitest';
import { fillPath, rim, tallest, wallPath } from '../../src/design/Vessel';
import { steps } from '../../src/design/Chart';

const capacity = { median: 10, lo80: 9, hi80: 11.5, sd: 1 };
const d = { x: 10, width: 40, base: 150, perRep: 10 };

test('the fill ends at the reps done, the wall at the middle of the doubt', () => {
  expect(fillPath(d, 8)).toMatch(/^M12 70 V/);
  expect(wallPath(d, rim({ done: 8, capacity }), false)).toContain('L10 51');
});
test('a vessel is never closed at the top', () => {
  for (const broken of [false, true]) expect(wallPath(d, 10, broken)).not.toMatch(/[zZ]/);
});
test('a miss ends at the fill, with another rim', () => {
  expect(rim({ done: 7, failed: true, capacity })).toBe(7);
  expect(wallPath(d, 7, true)).not.toBe(wallPath(d, 7, false));
});
test('more done than was believed possible raises the rim; nothing done still has one', () => {
  expect(rim({ done: 13, capacity })).toBe(13);
  expect(rim({ done: 0, failed: true })).toBeGreaterThan(0);
  expect(tallest([{ done: 8, called: 5, capacity }])).toBe(13);
});
test('axis steps are round and cover the span', () => {
  expect(steps(100, 124, 5)).toEqual([100, 105, 110, 115, 120]);
  expect(steps(0, 9, 6)).toEqual([0, 2, 4, 6, 8]);
  expect(steps(5, 5, 5)).toEqual([5]);
});

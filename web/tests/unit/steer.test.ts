import { expect, test } from 'vitest';
import { mondays } from '../../src/pages/steer';

test('a lighter week begins on a Monday, this one or one of the next three', () => {
  const want = ['2026-11-23', '2026-11-30', '2026-12-07', '2026-12-14'];
  for (const day of ['2026-11-23', '2026-11-27', '2026-11-29']) expect(mondays(day)).toEqual(want);
  expect(mondays('2026-12-28')[1]).toBe('2027-01-04');
});

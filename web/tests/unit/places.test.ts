import { expect, test } from 'vitest';
import { readPairs, readSteps } from '../../src/pages/places';

test('plates as people write them', () => {
  expect(readPairs('25 x 2; 20x4; 1,25; 10 lb x 1', 'kg')).toEqual([
    { plate: { amount: 25, unit: 'kg' }, pairs: 2 }, { plate: { amount: 20, unit: 'kg' }, pairs: 4 },
    { plate: { amount: 1.25, unit: 'kg' }, pairs: 1 }, { plate: { amount: 10, unit: 'lb' }, pairs: 1 },
  ]);
  for (const bad of ['x', '20 x', '-5', '0']) expect(readPairs(bad, 'kg'), bad).toBeUndefined();
});
test('runs of loads', () => {
  expect(readSteps('2.5-10/2.5', 'kg')!.map((l) => l.amount)).toEqual([2.5, 5, 7.5, 10]);
  expect(readSteps('8; 12; 16', 'kg')!.map((l) => l.amount)).toEqual([8, 12, 16]);
  expect(readSteps('', 'kg')).toEqual([]);
  for (const bad of ['a', '1-2/0', '1-100000/0.01']) expect(readSteps(bad, 'kg'), bad).toBeUndefined();
});

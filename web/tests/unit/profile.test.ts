import { expect, test } from 'vitest';
import { blank, changes } from '../../src/pages/profile';

test('only what was changed is sent', () => {
  const before = { ...blank(), lifter: 'Ida', goal: 'a', avoid: 'x, y', training_years: '3' };
  expect(changes(before, before)).toEqual({});
  expect(changes(before, { ...before, goal: 'b' })).toEqual({ goal: 'b' });
  expect(changes(before, { ...before, avoid: 'x', training_years: '' })).toEqual({ avoid: ['x'], training_years: null });
  expect(changes({ ...before, days_per_week: '4' }, { ...before, days_per_week: '3' })).toEqual({ days_per_week: 3 });
});

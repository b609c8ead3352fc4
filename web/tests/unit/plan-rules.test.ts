import { describe, expect, test } from 'vitest';
import { muscleLimits } from '../../src/pages/plan-rules';

describe('sets of a single muscle a week', () => {
  test('one limit or both', () => {
    expect(muscleLimits('6', '')).toEqual({ limits: { least_week: 6 } });
    expect(muscleLimits('', '12')).toEqual({ limits: { most_week: 12 } });
    expect(muscleLimits('6', '6')).toEqual({ limits: { least_week: 6, most_week: 6 } });
    expect(muscleLimits('', ' 60 ')).toEqual({ limits: { most_week: 60 } });
  });
  test('nothing to add while nothing is said', () => expect(muscleLimits('', ' ')).toEqual({}));
  test('what is wrong stands at its field', () => {
    expect(muscleLimits('41', '')).toEqual({ least: 'A whole number from 1 to 40.' });
    expect(muscleLimits('x', '5')).toEqual({ least: 'A whole number from 1 to 40.' });
    expect(muscleLimits('', '0')).toEqual({ most: 'A whole number from 1 to 60.' });
    expect(muscleLimits('', '2.5')).toEqual({ most: 'A whole number from 1 to 60.' });
    expect(muscleLimits('9', '8')).toEqual({ most: 'Not below the least.' });
  });
});

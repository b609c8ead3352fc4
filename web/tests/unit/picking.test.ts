import { expect, test } from 'vitest';
import type { CellSheet, MappingParts } from '../../src/api/types';
import { columnOf, fits, lettersOf, missing, nameOf, namesOf, placeOf, settled, usesOf, widthOf } from '../../src/picking';

const parts = (over: Partial<MappingParts> = {}): MappingParts => ({ fields: [], constants: [], sets: null, header_row: 1, header_rows: 1, sheets: [], skip_hidden_rows: false, date_order: '', decimal_comma: false, ...over });
const field = (name: string, ...columns: string[]) => ({ field: name, columns, join: ' ', as: '', unit: '' });
const row = (n: number, ...texts: string[]) => ({ row: n, hidden: false, cells: texts.flatMap((text, i) => (text ? [{ column: lettersOf(i), text, kind: (/^\d/.test(text) ? 'number' : 'text') as 'number' | 'text' }] : [])) });
const sheet: CellSheet = { sheet: 'Week 1', hidden: false, more: true, rows: [row(1, 'Lifter', 'Ida'), row(3, 'Day', 'Lift', 'kg', 'Reps', 'kg', 'Reps'), row(4, '2026-03-09', 'squat', '100', '5', '100', '4')] };

test('letters and numbers of columns', () => {
  for (const [n, letters] of [[0, 'A'], [25, 'Z'], [26, 'AA'], [701, 'ZZ'], [702, 'AAA']] as const) {
    expect(lettersOf(n)).toBe(letters);
    expect(columnOf(letters)).toBe(n);
  }
  expect(widthOf(sheet)).toBe(6);
});

test('names are found where most of them stand, or where the mapping says', () => {
  expect(namesOf(sheet, parts())).toMatchObject({ first: -1 });
  expect(namesOf(sheet, parts({ fields: [field('date', 'day'), field('exercise', 'Lift')] }))).toMatchObject({ first: 1, last: 1 });
  expect(namesOf(sheet, parts({ header_row: 3 })).names[2]).toBe('kg');
  expect(namesOf(sheet, parts({ header_row: 0, fields: [field('date', 'Day')] }))).toMatchObject({ first: -1 });
  const two: CellSheet = { ...sheet, rows: [row(1, 'Day', 'Set 1', '', 'Set 2'), row(2, 'Day', 'kg', 'Reps', 'kg'), row(3, '1', '2', '3', '4')] };
  expect(namesOf(two, parts({ header_rows: 2, fields: [field('load', 'Set * kg')] })).names).toEqual(['Day', 'Set 1 kg', 'Reps', 'Set 2 kg']);
});

test('a picked cell has a name that stays', () => {
  const at = namesOf(sheet, parts({ fields: [field('date', 'Day')] }));
  expect(nameOf(sheet, 2, 1, at)).toBe('Lift');
  expect(nameOf(sheet, 2, 2, at)).toBe('#C'); // kg stands twice
  expect(nameOf(sheet, 0, 1, at)).toBe('(B1)');
  const unknown = namesOf(sheet, parts());
  expect(nameOf(sheet, 1, 0, unknown)).toBe('Day');
  expect(nameOf(sheet, 2, 0, unknown)).toBe('#A');
  expect(nameOf({ ...sheet, sheet: '' }, 2, 0, unknown)).toBe('#1');
});

test('columns know what they feed', () => {
  const p = parts({ fields: [field('load', '#C'), field('note', 'Lift')], sets: { columns: ['Rep*'], order: '', unit: '', effort: '' } });
  const { names } = namesOf(sheet, p);
  expect(usesOf(2, names, p)).toEqual(['load']);
  expect(usesOf(1, names, p)).toEqual(['note']);
  expect(usesOf(3, names, p)).toEqual(['sets']);
  expect(fits('Set * kg', 'set 12 KG')).toBe(true);
  expect(fits('Set * kg', 'Set kg')).toBe(false);
  expect(fits('', '')).toBe(false);
});

test('what is missing, and which questions are settled', () => {
  expect(missing(parts(), false)).toEqual(['date', 'exercise', 'load', 'reps', 'lifter']);
  const p = parts({ fields: [field('date', 'Day'), { ...field('load', 'W'), unit: 'lb' }], constants: [{ field: 'reps', text: '1' }] });
  expect(missing(p, true)).toEqual(['exercise']);
  expect(missing(parts({ sets: { columns: ['x'], order: '', unit: '', effort: '' } }), true)).toEqual(['date', 'exercise']);
  expect(settled('constants.unit', p, false)).toBe(true);
  expect(settled('columns.lifter', p, false)).toBe(false);
  expect(settled('columns.lifter', p, true)).toBe(true);
  expect(settled('columns.reps', p, false)).toBe(true);
  expect(settled('file.date_order', { ...p, date_order: 'dmy' }, false)).toBe(true);
  expect(settled('values.kind', p, false)).toBe(false);
  expect(settled('file.header_row', parts({ header_row: 0 }), false)).toBe(false);
  expect(settled('file.header_row', parts({ header_row: 0, fields: [field('date', '#1')] }), false)).toBe(true);
});

test('places of faults', () => {
  expect(placeOf('Week 3!D14')).toEqual({ sheet: 'Week 3', row: 14, column: 'D' });
  expect(placeOf('a!b!AB2')).toEqual({ sheet: 'a!b', row: 2, column: 'AB' });
  expect(placeOf('line 12')).toBeUndefined();
  expect(placeOf(undefined)).toBeUndefined();
});

import { expect, test } from 'vitest';
import { putExercise, putKey } from '../../src/toml-keys';

const start = "[columns]\ndate = 'Datum'\nload = 'Gewicht'\nreps = 'Wdh'\n\n[file]\ndecimal_comma = true\n";

test('an answer goes to its table, a new table to the end', () => {
  expect(putKey(start, 'file.date_order', 'dmy')).toBe(`${start.trimEnd()}\ndate_order = "dmy"\n`);
  expect(putKey(start, 'constants.unit', 'kg')).toBe(`${start}\n[constants]\nunit = "kg"\n`);
});
test('an answer given again replaces the first', () => {
  const once = putKey(start, 'file.date_order', 'dmy');
  expect(putKey(once, 'file.date_order', 'mdy')).toBe(once.replace('dmy', 'mdy'));
  expect(putKey(start, 'file.decimal_comma', 'false')).toBe(start.replace('true', 'false'));
});
test('a key inside what a column is read from', () => {
  const unit = putKey(start, 'columns.load.unit', 'lb');
  expect(unit).toContain(`load = { column = 'Gewicht', unit = "lb" }`);
  expect(putKey(unit, 'columns.load.unit', 'kg')).toContain(`load = { column = 'Gewicht', unit = "kg" }`);
  expect(putKey("[columns]\nload = ['a, b', 'c']\n", 'columns.load.unit', 'kg')).toContain(`{ columns = ['a, b', 'c'], unit = "kg" }`);
});
test('exercises with any letters', () => {
  const text = putExercise(start, 'SQ "low", paused = x', 'pause-squat');
  expect(text).toContain('[values.exercise]\n"SQ \\"low\\", paused = x" = "pause-squat"\n');
  expect(putExercise(text, 'SQ "low", paused = x', 'back-squat')).toBe(text.replace('"pause-squat"', '"back-squat"'));
});

// Every exercise of the library has a German name, none twice, and what is typed finds its way back.
import { readFileSync } from 'node:fs';
import { afterEach, expect, test } from 'vitest';
import german from '../../../data/words/exercises_de.json';
import { englishName, exerciseName, nameHas, setNames, withNames } from '../../src/text/names';

afterEach(() => setNames({}));

test('the names are those of the library, one each', () => {
  const library = [...readFileSync(new URL('../../../data/exercises.toml', import.meta.url), 'utf8').matchAll(/^name = "(.*)"/gm)].map((m) => m[1]!);
  expect(library.length).toBeGreaterThan(200);
  expect(Object.keys(german).sort()).toEqual([...library].sort());
  const other = Object.values(german).map((n) => n.toLowerCase());
  expect(new Set(other).size).toBe(other.length);
});

test('answers are read with them, whatever a coach named stays', () => {
  const answer = () => ({ name: 'bench press', plan: { items: [{ exercise: 'bench-press', name: 'bench press' }, { exercise: 'mine', name: 'quay press' }] } });
  expect(withNames(answer())).toEqual(answer());
  setNames(german);
  const read = withNames(answer());
  expect(read.plan.items.map((i) => i.name)).toEqual(['Bankdrücken', 'quay press']);
  expect(read.name).toBe('bench press'); // a person or a place may be called anything
  expect(englishName('bankdrücken ')).toBe('bench press');
  expect(englishName('quay press')).toBe('quay press');
  expect(exerciseName('deadlift')).toBe('Kreuzheben');
  expect(nameHas('back squat', 'knieb')).toBe(true);
});

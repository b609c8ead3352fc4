// The program's sentences in German; comes after the page, and only with German.
import { day } from '../../format';
import { habits } from '../../habits';
import { t, type TextKey } from '..';
import { en } from '../en';
import { exerciseName } from '../names';
import { blocks } from './blocks';
import { desk } from './desk';
import { evidence } from './evidence';
import { sayerOf, type Pattern } from './matcher';
import { tables } from './tables';
import { training } from './training';
import { inQuantities, weekdays } from './written';

export const patterns: readonly Pattern[] = [...training, ...blocks, ...evidence, ...desk, ...tables];

export const german = sayerOf(patterns, {
  decimal: () => (habits().decimal === 'comma' ? ',' : '.'),
  day: (iso) => day(iso),
  weekday: (english) => weekdays[english],
  name: exerciseName,
  muscle: (english) => (`muscle.${english}` in en ? t(`muscle.${english}` as TextKey) : undefined),
  words: inQuantities.map(([from, to]) => [new RegExp(`\\b${from}\\b`, 'g'), to] as const),
});

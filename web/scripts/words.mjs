// node scripts/words.mjs [--check]: writes the page's patterns for what the program says (src/text/said) to data/words/de.json,
// where the program takes them from for its papers; --check fails when they are not the same.
import { readFileSync, writeFileSync } from 'node:fs';
import { training } from '../src/text/said/training.ts';
import { blocks } from '../src/text/said/blocks.ts';
import { evidence } from '../src/text/said/evidence.ts';
import { desk } from '../src/text/said/desk.ts';
import { tables } from '../src/text/said/tables.ts';
import { inQuantities, weekdays } from '../src/text/said/written.ts';
import { de } from '../src/text/de.ts';

const file = new URL('../../data/words/de.json', import.meta.url);
const line = (x) => JSON.stringify(x);
const object = (entries) => `{${entries.map(([k, v]) => `${line(k)}: ${line(v)}`).join(', ')}}`;
const muscles = Object.entries(de).filter(([k]) => k.startsWith('muscle.')).map(([k, v]) => [k.slice(7), v]);
const patterns = [...training, ...blocks, ...evidence, ...desk, ...tables];
const text = `{
"weekdays": ${object(Object.entries(weekdays))},
"muscles": ${object(muscles)},
"words": [${inQuantities.map(line).join(', ')}],
"patterns": [
${patterns.map(line).join(',\n')}
]}
`;
if (process.argv.includes('--check')) {
  if (readFileSync(file, 'utf8') !== text) {
    console.error('data/words/de.json is not what src/text/said says: node scripts/words.mjs writes it');
    process.exit(1);
  }
} else writeFileSync(file, text);

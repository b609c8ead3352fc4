// The script of a first load stays under 80 kB compressed: the entry, everything it imports, the largest page on top and the
// second language. The program's sentences in that language come after the page, and have a limit of their own. Also: nothing in the build points outside.
import { readFileSync, readdirSync } from 'node:fs';
import { gzipSync } from 'node:zlib';

const LIMIT = 80 * 1024;
const SAID_LIMIT = 42 * 1024;
const dist = new URL('../dist/', import.meta.url);
const assets = new URL('assets/', dist);
const scripts = readdirSync(assets).filter((f) => f.endsWith('.js'));
const text = Object.fromEntries(scripts.map((f) => [f, readFileSync(new URL(f, assets), 'utf8')]));
const size = Object.fromEntries(scripts.map((f) => [f, gzipSync(text[f], { level: 9 }).length]));
const imports = (f) => [...text[f].matchAll(/(?:from|import)\s*["'`]\.\/([\w-]+\.js)["'`]/g)].map((m) => m[1]);
const lazy = (f) => [...text[f].matchAll(/import\(\s*["'`]\.\/([\w-]+\.js)["'`]/g)].map((m) => m[1]);
const closure = (start, seen = new Set()) => {
  for (const f of start) if (!seen.has(f)) closure(imports((seen.add(f), f)), seen);
  return seen;
};
const html = readFileSync(new URL('index.html', dist), 'utf8');
const entry = /src="\.\/assets\/([\w-]+\.js)"/.exec(html)[1];
const sum = (files) => [...files].reduce((n, f) => n + size[f], 0);
const first = closure([entry]);
const pages = lazy(entry).filter((f) => !/^(de|german)-/.test(f));
const language = scripts.filter((f) => f.startsWith('de-'));
let failed = 0;
let worst = 0;
const late = scripts.filter((f) => f.startsWith('german-'));
const mark = 'What lifts it: {t}'; // one of the patterns
if (late.length !== 1 || !text[late[0]].includes(mark) || scripts.some((f) => f !== late[0] && text[f].includes(mark)) || scripts.some((f) => imports(f).includes(late[0]))) {
  console.error('the patterns of the program\'s sentences are not in one file of their own that comes late');
  failed++;
} else if (size[late[0]] > SAID_LIMIT) {
  console.error(`${late[0]}: ${size[late[0]]} bytes compressed, ${SAID_LIMIT} allowed`);
  failed++;
}
for (const page of pages) {
  const all = closure([entry, page, ...language]);
  worst = Math.max(worst, sum(all));
  if (sum(all) > LIMIT) {
    console.error(`${page}: first load is ${sum(all)} bytes compressed, ${LIMIT} allowed`);
    failed++;
  }
}
if (pages.length < 5) {
  console.error(`only ${pages.length} pages found in ${entry}: this check would see nothing`);
  failed++;
}
if (/<script(?![^>]*src=)|<style|\sstyle=|\son\w+=/.test(html)) {
  console.error('index.html: inline script or style');
  failed++;
}
for (const f of [...scripts.map((x) => `assets/${x}`), ...readdirSync(assets).filter((x) => x.endsWith('.css')).map((x) => `assets/${x}`), 'index.html', 'sw.js']) {
  const outside = (readFileSync(new URL(f, dist), 'utf8').match(/https?:\/\/[^\s"'`)]+/g) ?? []).filter((u) => !u.startsWith('http://www.w3.org/'));
  if (outside.length) {
    console.error(`${f}: ${outside.join(' ')}`);
    failed++;
  }
}
console.log(`first load of the roster ${sum(first)} bytes, of the largest page in German ${worst}, all scripts ${sum(scripts)}; limit ${LIMIT}; sentences of the program in German, later, ${sum(late)}`);
process.exit(failed ? 1 : 0);

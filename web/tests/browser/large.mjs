// How long each view takes on a large roster: the program's own share (from a request to the whole answer), and the page in
// Chromium (from the change of the address to what the view is for being there). Not part of web/check:
//   build/test/bench/fill_roster FILE            5 000 lifters, 50 of them with five years of log; takes minutes
//   node tests/browser/large.mjs PROGRAM FILE [TRIES [page]]     page: only the part in Chromium, without waiting for the roster
import { readFileSync } from 'node:fs';
import { launch, open } from './harness.mjs';
import { startProgram } from './program.mjs';

const [program, file, count = '5', only] = process.argv.slice(2);
if (!file) {
  console.error('large.mjs PROGRAM FILE [TRIES]');
  process.exit(2);
}
const tries = Number(count);
const began = performance.now();
const running = await startProgram(program, file);
console.log(`listening after ${Math.round(performance.now() - began)} ms`);
const get = async (path) => (await fetch(running.url + path)).json();
while (only !== 'page') {
  const { pending, total } = await get('api/roster?limit=1');
  if (!pending) {
    console.log(`roster of ${total} complete after ${Math.round(performance.now() - began)} ms`);
    break;
  }
  await new Promise((r) => setTimeout(r, 50));
}
const median = (list) => [...list].sort((a, b) => a - b)[Math.floor((list.length - 1) / 2)];
const row = (name, times, more = '') => console.log(`${name.padEnd(44)} ${times.map((t) => t.toFixed(0).padStart(6)).join('')}   median ${median(times).toFixed(0)} ms, least ${Math.min(...times).toFixed(0)} ms${more}`);

const long = 'lifter-2'; // five years
const short = 'lifter-77'; // twelve weeks
console.log('\nThe program: from the request to the whole answer, in ms');
// The program's own time on the processors, in 1/100 s as the system counts it: what others do on the machine is not in it.
const spent = () => {
  const fields = readFileSync(`/proc/${running.child.pid}/stat`, 'utf8').split(') ')[1].split(' ');
  return (Number(fields[11]) + Number(fields[12])) * 10;
};
const ask = async (name, path) => {
  if (only === 'page') return;
  const times = [];
  const before = spent();
  let bytes = 0;
  let status = 0;
  for (let n = 0; n < tries; n++) {
    const from = performance.now();
    const r = await fetch(running.url + path);
    bytes = (await r.arrayBuffer()).byteLength;
    status = r.status;
    times.push(performance.now() - from);
  }
  row(name, times, `, on the processor ${((spent() - before) / tries).toFixed(0)} ms, ${(bytes / 1024).toFixed(0)} kB, ${status}`);
};
await ask('roster, who stands out', 'api/roster?limit=100');
await ask('roster, by name', 'api/roster?sort=name&limit=100');
await ask('roster, found by a name', 'api/roster?q=holm&limit=100');
await ask('roster, everyone', 'api/roster?limit=5000');
for (const [words, id] of [['12 weeks', short], ['5 years', long]]) {
  await ask(`lifter, ${words}`, `api/lifters/${id}`);
  await ask(`estimate, ${words}`, `api/lifters/${id}/estimate`);
  await ask(`one lift over time, ${words}`, `api/lifters/${id}/lifts/bench-press`);
  await ask(`log, the last 200 sets, ${words}`, `api/lifters/${id}/sets?limit=200`);
  await ask(`floor, ${words}`, `api/lifters/${id}/floor`);
  await ask(`sheet, ${words}`, `api/lifters/${id}/session`);
  await ask(`health, ${words}`, `api/lifters/${id}/health`);
}
await ask('floor, everyone of today', 'api/floor');
await ask('history', 'api/history?limit=30');
await ask('settings', 'api/settings');
await ask('exercises', 'api/exercises?limit=400');

console.log('\nThe page: from the change of the address to the view, in ms');
const browser = await launch();
const page = await open(browser, running.url, { quiet: ['409', '403', '404'] });
await page.goto(running.url);
await page.locator('tbody .name-cell').first().waitFor({ timeout: 120000 });
await page.waitForTimeout(4000); // the other pages have come ahead
const view = async (name, hash, shown, away = '#/nowhere') => {
  const times = [];
  for (let n = 0; n < tries; n++) {
    await page.evaluate((h) => void (location.hash = h), away);
    await page.waitForFunction((s) => !document.querySelector(s), shown); // nothing of before is taken for it
    times.push(await page.evaluate(async ([h, s]) => {
      const from = performance.now();
      location.hash = h;
      while (!document.querySelector(s)) {
        if (performance.now() - from > 20000) return NaN;
        await new Promise((r) => requestAnimationFrame(r));
      }
      return performance.now() - from;
    }, [hash, shown]));
  }
  row(name, times);
};
await view('roster', '#/', 'tbody .name-cell');
for (const [words, id] of [['12 weeks', short], ['5 years', long]]) {
  await view(`lifter, ${words}`, `#/lifter/${id}`, 'main svg.chart .band');
  await view(`log, ${words}`, `#/lifter/${id}/log`, 'main tbody tr');
  await view(`health, ${words}`, `#/lifter/${id}/health`, 'main h2');
  await view(`sheet, ${words}`, `#/sheet/${id}`, 'main .exercise-item');
  await view(`floor, ${words}`, `#/floor/${id}`, 'main button');
}
await view('floor, everyone of today', '#/floor', 'main .choice');
await view('exercises', '#/exercises', 'main tbody tr');
await view('places', '#/places', 'main p.lead');
await view('policy', '#/policy', 'main fieldset, main table, main input');
await view('evidence', '#/evidence', 'main .empty, main .plain-list');
await view('read a log in', '#/import', 'main input[type=file]');
await view('history and backup', '#/data', 'main tbody tr');
await view('papers of everyone', '#/papers', 'main .paper-list');
await view('settings', '#/settings', 'main select');
const act = async (name, before, doing, done) => {
  const times = [];
  for (let n = 0; n < tries; n++) {
    await page.evaluate(before);
    await page.waitForTimeout(400);
    times.push(await page.evaluate(async ([d, w]) => {
      const was = document.querySelector('tbody')?.textContent;
      const from = performance.now();
      (0, eval)(d);
      while (document.querySelector('tbody')?.textContent === was) {
        if (performance.now() - from > 20000) return NaN;
        await new Promise((r) => requestAnimationFrame(r));
      }
      return performance.now() - from;
    }, [doing, done]));
  }
  row(name, times);
};
await page.evaluate(() => void (location.hash = '#/'));
await page.locator('tbody .name-cell').first().waitFor();
await act('roster, sorted by name', () => document.querySelectorAll('thead button')[1].click(), "document.querySelectorAll('thead button')[0].click()");
await act('roster, sorted by sets', () => document.querySelectorAll('thead button')[1].click(), "document.querySelectorAll('thead button')[3].click()");
await page.close_();
await browser.close();
await running.stop();

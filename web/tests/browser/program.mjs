// The journeys against the program itself: an empty data file, the invented roster, and everything a coach does with it.
// Every answer the page gets is held against docs/api/openapi.json.
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { check, clean, equal, fits, open, picture, until } from './harness.mjs';
import { planTests } from './program-plan.mjs';
import { answerFaults } from './shape.mjs';

const dist = new URL('../../dist/', import.meta.url).pathname;

export function startProgram(program, db, port = 0) {
  return new Promise((ready, fail) => {
    const child = spawn(program, ['--db', db, 'serve', '--port', String(port), '--json'], { stdio: ['ignore', 'pipe', 'pipe'] });
    let out = '';
    let err = '';
    child.stderr.on('data', (d) => (err += d));
    child.stdout.on('data', (d) => {
      out += d;
      const at = /"port"\s*:\s*(\d+)/.exec(out);
      if (at) ready({ url: `http://127.0.0.1:${at[1]}/`, port: Number(at[1]), child, stop: () => new Promise((done) => (child.once('exit', done), child.kill('SIGTERM'))) });
    });
    child.once('exit', (code) => fail(new Error(`serve ended with ${code}: ${err}${out}`)));
  });
}

// Runs a journey on a page of the program that `start` gives: no fault on the page, every answer as it is described.
// quiet: what the console may say in any of them.
export function withProgram(browser, start, quiet) {
  return async (options, body) => {
    const running = await start();
    const page = await open(browser, running.url, { ...options, quiet: [...quiet, ...(options.quiet ?? [])] });
    const bad = [];
    page.on('response', async (r) => {
      const at = new URL(r.url());
      if (!at.pathname.startsWith('/api/') || !(r.headers()['content-type'] ?? '').includes('json')) return;
      const json = await r.json().catch(() => undefined);
      if (json !== undefined) bad.push(...answerFaults(r.request().method(), at.pathname, r.status(), json));
    });
    try {
      await body(page, running);
      equal(page.faults, [], 'faults');
      equal([...new Set(bad)].slice(0, 5), [], 'answers against the description');
    } finally {
      await page.close_();
    }
  };
}

export function programTests(browser, program) {
  const folder = mkdtempSync(join(tmpdir(), 'ullage-page-'));
  const db = join(folder, 'studio.ullage');
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  let running;
  const with_ = withProgram(browser, async () => (running ??= await startProgram(program, db)), ['409', '403', '404']);
  const bodyHas = async (page, text, ms) => {
    let body = '';
    await until(async () => (body = await page.textContent('body')).includes(text), `"${text}" on the page`, ms).catch((e) => {
      throw new Error(`${e.message}, which has "${body.replace(/\s+/g, ' ')}"`);
    });
  };
  const api = async (path, method = 'GET', body) => {
    const r = await fetch(running.url + path, { method, headers: method === 'GET' ? {} : { 'Content-Type': 'application/json' }, body: body && JSON.stringify(body) });
    return r.json();
  };
  let lifter;
  let held;
  return [
    ['program: first visit, the invented roster in one click', () => with_({}, async (page, { url }) => {
      equal(await (await fetch(url)).text(), readFileSync(join(dist, 'index.html'), 'utf8'), 'the page in the program; build the program again');
      await page.goto(url);
      await bodyHas(page, 'Nobody is on the roster yet');
      await page.getByRole('button', { name: 'Make the invented roster' }).click();
      await bodyHas(page, 'of 12 stand', 180000);
      // The estimates of all twelve come in the background.
      await until(async () => (await api('api/jobs')).jobs.every((j) => j.state !== 'running'), 'the estimates', 240000);
      const roster = await api('api/roster?limit=50');
      held = roster.lifters.find((l) => l.reasons.some((r) => r.kind === 'hold'));
      check(held, 'nobody is on hold in the invented roster');
      for (const l of roster.lifters.filter((x) => !x.reasons.length)) {
        const p = await api(`api/lifters/${l.id}`);
        if (p.gate.allowed) {
          lifter = { id: l.id, name: l.lifter };
          break;
        }
      }
      check(lifter, 'nobody of the invented roster may train');
      await page.reload();
      await bodyHas(page, 'of 12 stand');
      await clean(page, 'roster');
      await picture(page, 'roster');
    })],
    ['program: a lifter, every number with its reason', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/lifter/${lifter.id}`);
      await bodyHas(page, ': strength ', 20000);
      await bodyHas(page, 'Leaves', 20000);
      await clean(page, 'lifter');
      const whys = await page.locator('details.why').count();
      check(whys >= 5, `${whys} reasons`);
      await page.evaluate(() => document.querySelectorAll('details').forEach((d) => (d.open = true)));
      check(!(await page.textContent('body')).match(/undefined|NaN|\[object/), 'broken text');
      await page.reload();
      await bodyHas(page, 'Leaves', 20000);
      await picture(page, 'program-lifter');
      await page.setViewportSize({ width: 360, height: 640 });
      await fits(page, 'lifter on a phone');
    })],
    ['program: what the data ask for: a stall of the roster, a lighter week all the same, taken back', () => with_({}, async (page, { url }) => {
      const roster = await api('api/roster?kind=stall');
      const stalled = roster.lifters.find((l) => !l.reasons.some((r) => r.kind === 'hold'));
      check(stalled, 'nobody stands still in the invented roster');
      const steering = (id) => api(`api/lifters/${id}/steering`);
      const [proposal] = (await steering(stalled.id)).proposals;
      await page.goto(url);
      await page.getByLabel('What stands out').selectOption('stall');
      await page.getByRole('link', { name: stalled.lifter }).click();
      await bodyHas(page, 'stands still', 20000);
      await bodyHas(page, proposal.why);
      await clean(page, 'a stall');
      await picture(page, 'program-steer', { full: false });
      const card = page.locator('.steer .notice');
      await card.getByLabel('Your word on it').fill('worth a try');
      await card.getByRole('button', { name: 'Accept' }).click();
      await until(async () => (await steering(stalled.id)).decided[0]?.said === 'worth a try', 'accepted');
      await until(async () => (await card.count()) === 0, 'under way');
      equal((await steering(stalled.id)).decided[0].proposal.what, proposal.what, 'what was accepted');
      await page.getByRole('button', { name: 'Undo' }).click();
      await until(async () => (await steering(stalled.id)).proposals.length === 1, 'proposed again');
      await until(async () => (await card.count()) === 1, 'shown again');
      // A lighter week all the same: the sheet has it and says so; taken back, it does not.
      await page.goto(`${url}#/lifter/${lifter.id}`);
      await page.locator('.lately > summary').click();
      await page.getByRole('button', { name: 'Make it lighter all the same' }).click();
      await until(async () => (await steering(lifter.id)).decided.length === 1, 'lighter');
      const { from } = (await steering(lifter.id)).decided[0].proposal;
      await page.goto(`${url}#/sheet/${lifter.id}?date=${from}`);
      await bodyHas(page, 'A lighter week, accepted on', 30000);
      await clean(page, 'sheet of a lighter week');
      await api('api/undo', 'POST', {});
      equal((await steering(lifter.id)).decided, [], 'taken back');
    })],
    ['program: the log, corrected, removed, brought back, a sheet typed', () => with_({ quiet: ['422'] }, async (page, { url }) => {
      await page.goto(`${url}#/lifter/${lifter.id}/log`);
      await page.locator('tbody tr').first().waitFor();
      await clean(page, 'log');
      await picture(page, 'program-log', { full: false });
      const before = await api(`api/lifters/${lifter.id}/sets?limit=1`);
      await page.getByRole('button', { name: /^Edit/ }).first().click();
      await clean(page, 'log, editing');
      await picture(page, 'program-log-edit', { full: false });
      await page.getByRole('dialog').getByLabel('Reps done').fill(String(before.sets[0].reps + 1));
      await page.getByRole('dialog').getByRole('button', { name: 'Save' }).click();
      await bodyHas(page, 'Set corrected');
      equal((await api(`api/lifters/${lifter.id}/sets?limit=1`)).sets[0].reps, before.sets[0].reps + 1, 'reps');
      await page.getByRole('button', { name: 'Undo' }).click();
      await until(async () => (await api(`api/lifters/${lifter.id}/sets?limit=1`)).sets[0].reps === before.sets[0].reps, 'undone');
      await page.getByRole('button', { name: /^Edit/ }).first().click();
      await page.getByRole('dialog').getByRole('button', { name: 'Remove this set' }).click();
      await until(async () => (await api(`api/lifters/${lifter.id}/sets?limit=1`)).total === before.total - 1, 'removed');
      await page.getByRole('button', { name: 'Undo' }).click();
      await until(async () => (await api(`api/lifters/${lifter.id}/sets?limit=1`)).total === before.total, 'back');
      // A filled sheet, typed: a fault is pointed at, what is read is read back, and one undo takes it away.
      await page.getByRole('button', { name: 'Type in a sheet' }).click();
      const typed = page.getByRole('dialog').getByLabel('The session in plain words');
      await typed.fill(`${before.sets[0].name}: 20 kg x 8 left 2; y 8`);
      await page.getByRole('dialog').getByRole('button', { name: 'Read it' }).click();
      await page.locator('dialog pre', { hasText: '^' }).waitFor();
      await clean(page, 'log, a typed sheet with a fault');
      await picture(page, 'program-log-typed-fault', { full: false });
      await typed.fill(`${before.sets[0].name}: 20 kg x 8 left 2; x 7 failed; rest 120 s`);
      await page.getByRole('dialog').getByRole('button', { name: 'Read it' }).click();
      await bodyHas(page, 'as they would be logged');
      await clean(page, 'log, a typed sheet');
      await picture(page, 'program-log-typed', { full: false });
      equal((await api(`api/lifters/${lifter.id}/sets?limit=1`)).total, before.total, 'nothing yet');
      await page.getByRole('dialog').getByRole('button', { name: 'Save' }).click();
      await bodyHas(page, '2 sets logged');
      equal((await api(`api/lifters/${lifter.id}/sets?limit=1`)).total, before.total + 2, 'logged');
      await page.getByRole('button', { name: 'Undo' }).click();
      await until(async () => (await api(`api/lifters/${lifter.id}/sets?limit=1`)).total === before.total, 'taken back');
    })],
    ['program: the sheet of today', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/sheet/${lifter.id}`);
      await bodyHas(page, 'minutes', 30000);
      await clean(page, 'sheet');
      await picture(page, 'program-sheet');
      check(!(await page.textContent('body')).match(/undefined|NaN/), 'broken text');
    })],
    ['program: a whole session on a phone, with the program stopped in the middle', () => with_({ width: 360, height: 640, touch: true, worker: true, quiet: ['ERR_', 'Failed to load'] }, async (page, { url, port }) => {
      await page.goto(`${url}#/floor/${lifter.id}`);
      await page.getByRole('button', { name: 'Start the session' }).click({ timeout: 30000 });
      const warmed = page.getByRole('button', { name: 'Warmed up' });
      const more = page.getByRole('group', { name: /How many more could/ });
      await warmed.or(more).first().waitFor({ timeout: 30000 });
      await page.evaluate(() => navigator.serviceWorker.ready);
      const step = async (name) => {
        if (await warmed.isVisible()) await warmed.click();
        await page.waitForTimeout(620);
        await more.getByRole('button', { name, exact: true }).click();
      };
      const floor = () => api(`api/lifters/${lifter.id}/floor?date=${new Date().toLocaleDateString('sv')}`);
      await step('2');
      await until(async () => (await floor()).done.length === 1, 'first set', 15000);
      await clean(page, 'floor');
      await picture(page, 'program-floor', { full: false });
      // From the tap to the answer of the program, planned again.
      const replans = [];
      for (let n = 0; n < 3; n++) {
        if (await warmed.isVisible()) await warmed.click();
        await page.waitForTimeout(620);
        const answered = page.waitForResponse((r) => r.url().endsWith('/floor/sets'));
        await more.getByRole('button', { name: '1', exact: true }).click();
        const r = await answered;
        await r.finished();
        replans.push(r.request().timing().responseEnd);
      }
      console.log(`   planned again after ${replans.map((x) => Math.round(x)).join(', ')} ms (request to answer)`);
      const before = (await floor()).done.length;
      equal(before, 4, 'sets so far');
      await running.stop();
      await step('3');
      await bodyHas(page, 'waits to be sent');
      await page.reload();
      await bodyHas(page, 'Reps done');
      await step('0');
      await bodyHas(page, '2 entries wait');
      running = await startProgram(program, db, port);
      await page.evaluate(() => dispatchEvent(new Event('online')));
      await until(async () => (await floor()).done.length === 6, 'both sets with the program', 30000);
      equal((await floor()).done.slice(4).map((d) => d.set.called_reserve), ['3', '0'], 'in order');
      // Undo takes the last one out of the log too.
      await page.getByRole('button', { name: /^Undo/ }).click();
      await until(async () => (await floor()).done.length === 5, 'taken back', 15000);
      await page.getByRole('button', { name: 'Finish early' }).click();
      await page.getByRole('dialog').getByRole('button', { name: 'Finish', exact: true }).click();
      await bodyHas(page, '5 sets done');
      await until(async () => (await floor()).finished !== null, 'finished', 15000);
      await clean(page, 'floor, over');
      await picture(page, 'program-floor-over');
    })],
    ['program: a hold on every page', () => with_({}, async (page, { url }) => {
      for (const path of [`#/lifter/${held.id}`, `#/sheet/${held.id}`, `#/floor/${held.id}`]) {
        await page.goto(url + path);
        // Right after a restart of the program the browser has been seen to leave the page's requests unsent: asked again once.
        await bodyHas(page, 'nothing is prescribed', 8000).catch(async (e) => {
          console.log(`   ${path} was asked for again: ${e.message.slice(0, 60)}`);
          await page.goto('about:blank');
          await page.goto(url + path);
          await bodyHas(page, 'nothing is prescribed', 20000);
        });
        await clean(page, `hold at ${path}`);
      }
      await picture(page, 'program-hold');
    })],
    ...planTests({ with_, bodyHas, api, lifter: () => lifter }),
    ['program: health questions, a hold from a yes, a clinician’s word', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/new`);
      await clean(page, 'taking on');
      await page.getByLabel('Name').fill('Ottoline Faraday-Mensah');
      await page.getByRole('button', { name: 'Take on a lifter' }).click();
      await bodyHas(page, 'Health questions');
      await page.getByRole('radio', { name: 'No', exact: true }).first().waitFor();
      const sets = await page.locator('fieldset.question').count();
      check(sets >= 8, `${sets} questions`);
      for (let n = 1; n < sets; n++) await page.locator('fieldset.question').nth(n).getByLabel('No', { exact: true }).check();
      await page.locator('fieldset.question').first().getByLabel('Yes', { exact: true }).check();
      await clean(page, 'health questions');
      await page.getByRole('button', { name: /^Save \d+ answers/ }).click();
      await bodyHas(page, 'is on hold: nothing is prescribed');
      await clean(page, 'on hold');
      await picture(page, 'program-health');
      await page.getByRole('button', { name: 'Record a clinician’s word' }).click();
      await page.getByLabel('Clinician', { exact: true }).fill('Dr. I. Nwosu');
      await page.getByLabel('Least reserve').fill('2');
      await page.locator('fieldset').filter({ hasText: 'Lifts these holds' }).getByRole('checkbox').first().check();
      await clean(page, 'clinician’s word');
      await page.locator('form').filter({ hasText: 'Lifts these holds' }).getByRole('button', { name: 'Save' }).click();
      await bodyHas(page, 'Training may be prescribed');
      await bodyHas(page, 'At least 2 in reserve.');
      await page.getByRole('link', { name: 'Training', exact: true }).click();
      await bodyHas(page, 'No sets yet');
      await clean(page, 'nobody knows anything yet');
      await picture(page, 'program-no-sets');
    })],
    ['program: a spreadsheet read in, with a fault, then without, and taken back', () => with_({}, async (page, { url }) => {
      const file = join(folder, 'club.csv');
      writeFileSync(file, 'Datum;Uebung;Gewicht;Wdh\n23.11.2026;bench press;60,5;8\n23.11.2026;bench press;60,5;acht\n24.11.2026;squat;80;5\n');
      await page.goto(`${url}#/import`);
      await clean(page, 'import');
      await page.getByLabel('Whose sets?').fill('Ottoline Faraday-Mensah');
      await page.getByLabel('File', { exact: true }).setInputFiles(file);
      await bodyHas(page, 'What stands where');
      for (const q of await page.locator('div.question select').all()) {
        const values = await q.locator('option').evaluateAll((o) => o.map((x) => x.value));
        await q.selectOption(values.find((v) => v === 'kg' || v === 'dmy') ?? values[1]);
      }
      await clean(page, 'import, mapping');
      await picture(page, 'program-import');
      await page.getByRole('button', { name: 'Show what would be read' }).click();
      await bodyHas(page, '1 fault; nothing is saved', 15000);
      await bodyHas(page, 'acht');
      await clean(page, 'import, fault');
      await picture(page, 'program-import-fault');
      const total = async () => (await api('api/roster?q=ottoline')).lifters[0].sets;
      equal(await total(), 0, 'sets before');
      await page.getByLabel(/Leave 1 unreadable/).check();
      await page.getByRole('button', { name: /^Save 2 sets/ }).click();
      await until(async () => (await total()) === 2, 'stored', 15000);
      await bodyHas(page, '2 sets saved');
      await page.getByRole('button', { name: 'Undo' }).click();
      await until(async () => (await total()) === 0, 'taken back', 15000);
    })],
    ['program: exercises, places and policy', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/exercises`);
      await page.getByLabel('Find an exercise').fill('press');
      await page.locator('tbody tr').first().waitFor();
      await clean(page, 'exercises');
      await picture(page, 'program-exercises', { full: false });
      await page.locator('tbody .name-cell').first().click();
      await clean(page, 'an exercise');
      await page.keyboard.press('Escape');
      await page.goto(`${url}#/places`);
      await page.locator('h1').waitFor();
      await clean(page, 'places');
      await page.getByRole('button', { name: 'Describe a place' }).click();
      await page.getByLabel('Name').fill('Back yard');
      await page.getByLabel('Plates, in pairs').fill('20 x 2; 10; 1,25 x 1');
      await clean(page, 'a place');
      await page.getByRole('button', { name: 'Save' }).click();
      await bodyHas(page, 'Back yard');
      const places = await api('api/places');
      equal(places.places.find((p) => p.name === 'Back yard').plates.map((p) => [p.plate.amount, p.pairs]), [[20, 2], [10, 1], [1.25, 1]], 'plates');
      await picture(page, 'program-places');
      await page.goto(`${url}#/policy`);
      await page.getByLabel('Least reserve').first().waitFor();
      await clean(page, 'policy');
      await picture(page, 'program-policy');
      await page.getByLabel('Least reserve').first().fill('3');
      await page.getByRole('button', { name: 'Save' }).click();
      await until(async () => (await api('api/policy')).policy.classes[0].least_reserve === 3, 'policy');
      await page.getByRole('button', { name: 'Back to the standard policy' }).click();
      await until(async () => (await api('api/policy')).from === 'standard', 'standard');
    })],
    ['program: history, backup, restore, export, erase', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/data`);
      await page.locator('tbody tr').first().waitFor();
      await page.getByRole('button', { name: 'Check the file' }).click();
      await page.getByRole('heading', { name: /checks/i }).waitFor();
      await until(async () => (await page.getByRole('button', { name: 'Check the file' }).count()) === 0, 'checked');
      await clean(page, 'history');
      await picture(page, 'program-data', { full: false });
      const [backup] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name: 'Backup file' }).click()]);
      const copy = join(folder, 'backup.ullage');
      await backup.saveAs(copy);
      check(readFileSync(copy).subarray(0, 15).toString() === 'SQLite format 3', 'the backup is no data file');
      const [archive] = await Promise.all([page.waitForEvent('download'), page.getByRole('link', { name: 'Export everything' }).click()]);
      await archive.saveAs(join(folder, 'export.zip'));
      equal(readFileSync(join(folder, 'export.zip')).subarray(0, 2).toString(), 'PK', 'the export is no archive');
      // Erase somebody, restore the backup, they are back.
      const id = (await api('api/roster?q=ottoline')).lifters[0].id;
      await page.goto(`${url}#/lifter/${id}/profile`);
      await clean(page, 'profile');
      await picture(page, 'program-profile');
      await page.getByRole('button', { name: 'Erase for good' }).click();
      await clean(page, 'erasing');
      check(await page.getByRole('dialog').getByRole('button', { name: 'Erase for good' }).isDisabled(), 'erased without the name');
      await page.getByRole('dialog').getByRole('textbox').fill('Ottoline Faraday-Mensah');
      await page.getByRole('dialog').getByRole('button', { name: 'Erase for good' }).click();
      await until(async () => (await api('api/roster?q=ottoline')).lifters.length === 0, 'erased', 15000);
      await until(() => !page.url().includes(id), 'the page leaves who is erased', 15000);
      await page.goto(`${url}#/data`);
      await page.locator('input[type=file]').setInputFiles(copy);
      await clean(page, 'restoring');
      await page.getByRole('button', { name: 'Replace' }).click();
      await until(async () => (await api('api/roster?q=ottoline')).lifters.length === 1, 'restored', 30000);
    })],
    ['program: settings are the user’s, in German too', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/settings`);
      await page.getByLabel('Language').selectOption('de');
      await bodyHas(page, 'Einstellungen');
      await page.getByLabel('Dezimalzeichen').selectOption('comma');
      await bodyHas(page, '102,5');
      await until(async () => (await api('api/settings')).language === 'de', 'kept by the program');
      await page.goto(`${url}#/lifter/${lifter.id}`);
      await bodyHas(page, ': Kraft ', 20000);
      await bodyHas(page, 'beruht auf ');
      equal(await page.locator('[lang=en]').allTextContents(), [], 'marked as English');
      await clean(page, 'lifter in German');
      await picture(page, 'program-lifter-german');
      await page.goto(`${url}#/settings`);
      await page.getByLabel('Sprache').selectOption('en');
      await page.getByLabel('Decimals').selectOption('dot');
      await bodyHas(page, '102.5');
    })],
    ['program: ended', async () => {
      await running?.stop();
    }],
  ];
}

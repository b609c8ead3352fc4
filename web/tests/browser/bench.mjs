// Journeys at the working table against the program itself: a workbook read in by picking cells, papers, and the evidence.
// On a data file of their own, with few sets, so that nothing takes long.
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { check, clean, equal, fits, picture, until } from './harness.mjs';
import { startProgram, withProgram } from './program.mjs';

const data = new URL('../../../tests/data/', import.meta.url).pathname;

export function benchTests(browser, program) {
  const folder = mkdtempSync(join(tmpdir(), 'ullage-bench-'));
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  const put = (name, text) => {
    writeFileSync(join(folder, name), text);
    return join(folder, name);
  };
  let running;
  const with_ = withProgram(browser, async () => (running ??= await startProgram(program, join(folder, 'bench.ullage'))), ['409', '403', '404', '422']);
  const bodyHas = (page, text, ms) => until(async () => (await page.textContent('body')).includes(text), `"${text}" on the page`, ms);
  const api = async (path) => (await fetch(running.url + path)).json();
  const total = async () => (await api('api/roster')).total;
  const sent = (page) => page.getByLabel('File', { exact: true });
  return [
    ['bench: a workbook, its cells picked, looked at, saved, taken back', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/import`);
      await sent(page).setInputFiles(`${data}workbooks/lifter-a-sheet.xlsx`);
      await bodyHas(page, 'What stands where');
      await bodyHas(page, 'the name of the sheet');
      await clean(page, 'import, workbook');
      // The exercise is let go and picked again: its heading, with the mouse.
      await page.getByRole('button', { name: 'Let go Exercise' }).click();
      await until(async () => (await page.getByRole('button', { name: 'Let go Exercise' }).count()) === 0, 'let go');
      await page.getByRole('button', { name: 'Exercise', exact: true }).click();
      await bodyHas(page, 'Now pick: Exercise');
      await picture(page, 'bench-picking');
      await page.getByRole('gridcell', { name: 'Exercise', exact: true }).first().click();
      await until(async () => (await page.getByRole('button', { name: 'Let go Exercise' }).count()) === 1, 'picked');
      // And the reps from the keyboard alone: arrows go from cell to cell.
      await page.getByRole('button', { name: 'Let go Reps' }).click();
      await until(async () => (await page.getByRole('button', { name: 'Let go Reps' }).count()) === 0, 'let go');
      await page.getByRole('button', { name: 'Reps', exact: true }).focus();
      await page.keyboard.press('Enter');
      await bodyHas(page, 'Now pick: Reps');
      const heading = await page.getByRole('gridcell', { name: /^Reps/ }).first().elementHandle();
      await page.locator('[role=gridcell][tabindex="0"]').focus();
      await page.keyboard.press('Home');
      await page.waitForTimeout(60);
      for (let n = 0; n < 30 && !(await heading.evaluate((e) => e === document.activeElement)); n++) {
        const at = await page.evaluate(() => [document.activeElement.parentElement.rowIndex, document.activeElement.cellIndex]);
        const to = await heading.evaluate((e) => [e.parentElement.rowIndex, e.cellIndex]);
        await page.keyboard.press(at[0] < to[0] ? 'ArrowDown' : at[0] > to[0] ? 'ArrowUp' : at[1] < to[1] ? 'ArrowRight' : 'ArrowLeft');
        await page.waitForTimeout(60);
      }
      await page.keyboard.press('Enter');
      await until(async () => (await page.getByRole('button', { name: 'Let go Reps' }).count()) === 1, 'picked by keyboard');
      for (const q of await page.locator('div.question select').all()) {
        const values = await q.locator('option').evaluateAll((o) => o.map((x) => x.value));
        if (values.includes('kg')) await q.selectOption('kg');
      }
      equal((await api('api/mappings')).mappings, [], 'mappings before');
      await page.getByRole('button', { name: 'Show what would be read' }).click();
      await bodyHas(page, 'The first sets, beside the cells they were read from', 15000);
      await bodyHas(page, 'Ida Roos');
      equal([await total(), (await api('api/mappings')).mappings.length, (await api('api/history?limit=1')).changes.length], [0, 0, 0], 'a look keeps nothing');
      await clean(page, 'import, beside the cells');
      await picture(page, 'bench-beside');
      await page.getByLabel('Keep this mapping under the name').fill('the lifters');
      await page.getByRole('button', { name: /^Save \d+ sets/ }).click();
      await until(async () => (await total()) === 2, 'two lifters', 15000);
      equal((await api('api/mappings')).mappings.map((m) => m.name), ['the lifters'], 'kept');
      await page.getByRole('button', { name: 'Undo', exact: true }).click();
      await until(async () => (await total()) === 0, 'taken back', 15000);
      // The same file the next month: the kept mapping is chosen, nothing is picked.
      await page.reload();
      await sent(page).setInputFiles(`${data}workbooks/lifter-a-sheet.xlsx`);
      await page.getByLabel('Read as before').selectOption('the lifters');
      await page.getByRole('button', { name: 'Show what would be read' }).click();
      await page.getByRole('button', { name: /^Save \d+ sets/ }).click();
      await until(async () => (await total()) === 2, 'read with the kept mapping', 15000);
      await page.setViewportSize({ width: 360, height: 640 });
      await fits(page, 'import on a phone');
    })],
    ['bench: a table without known names, a fault shown in its cell, a file that is none', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/import`);
      await page.getByLabel('Whose sets?').fill('Ida Roos');
      await sent(page).setInputFiles(put('odd.csv', 'aa;bb;cc;dd\n12.3.2026;bench press;60,5;8\n13.3.2026;bench press;62,5;acht\n'));
      await bodyHas(page, 'What stands where');
      for (const heading of ['aa', 'bb', 'cc', 'dd']) {
        await page.getByRole('gridcell', { name: heading, exact: true }).click();
        await until(async () => (await page.locator('.pick-list li').filter({ hasText: `“${heading}”` }).count()) === 1, heading);
      }
      await page.getByLabel('Loads without a unit are in').selectOption('kg');
      await page.getByLabel('Dates in figures are').selectOption('dmy');
      await page.getByLabel('Decimal comma').check();
      await until(async () => !(await page.getByRole('button', { name: 'Show what would be read' }).isDisabled()), 'nothing is open');
      await page.getByRole('button', { name: 'Show what would be read' }).click();
      await bodyHas(page, '1 fault; nothing is saved', 15000);
      await bodyHas(page, '60,5 | 8');
      await page.locator('td.bad').filter({ hasText: 'acht' }).waitFor();
      await clean(page, 'import, odd table');
      await picture(page, 'bench-odd');
      await sent(page).setInputFiles(put('none.xlsx', 'PK\u0003\u0004 and nothing of a workbook'));
      await bodyHas(page, 'That did not work');
      await clean(page, 'import, no workbook');
      check(!(await page.textContent('main')).includes('/tmp'), 'a name of the program’s own is shown');
    })],
    ['bench: papers of a lifter and of everyone', () => with_({}, async (page, { url }) => {
      const log = ['lifter,date,exercise,load,reps,called_reserve'];
      const today = new Date();
      for (let n = 40; n > 0; n -= 4) {
        const day = new Date(today.getTime() - n * 86400000).toISOString().slice(0, 10);
        for (let s = 0; s < 3; s++) log.push(`Ida Roos,${day},bench press,${60 + Math.floor((40 - n) / 8) * 2.5},8,${2 - (s > 1 ? 1 : 0)}`);
      }
      const r = await fetch(`${url}api/imports`, { method: 'POST', headers: { 'Content-Type': 'text/csv' }, body: log.join('\n') });
      check(r.ok, await r.text());
      const id = (await api('api/roster?q=ida')).lifters[0].id;
      await page.goto(`${url}#/papers/${id}`);
      await bodyHas(page, 'Papers for Ida Roos');
      await clean(page, 'papers');
      await picture(page, 'bench-papers');
      const got = async (title) => {
        const [file] = await Promise.all([page.waitForEvent('download', { timeout: 60000 }), page.getByRole('button', { name: title }).click()]);
        const at = join(folder, file.suggestedFilename());
        await file.saveAs(at);
        return readFileSync(at);
      };
      equal((await got(/^Make Report/)).subarray(0, 5).toString(), '%PDF-', 'report'); // fitted on the way
      equal((await got(/^Make Session of/)).subarray(0, 5).toString(), '%PDF-', 'session');
      await page.getByLabel('As').selectOption('html');
      check((await got(/^Make 7 days at a glance/)).toString().startsWith('<!'), 'overview');
      await page.getByLabel('Begins at').fill('18:30');
      check((await got(/^Make Calendar/)).toString().includes('BEGIN:VEVENT'), 'calendar');
      equal((await got(/^Make Workbook/)).subarray(0, 2).toString(), 'PK', 'workbook');
      await bodyHas(page, 'Made: ');
      await page.goto(`${url}#/papers`);
      await page.getByLabel('As').selectOption('html');
      await clean(page, 'papers for everyone');
      await page.getByRole('button', { name: /^Make Sheets of everyone/ }).click();
      await bodyHas(page, 'Fetch the archive', 60000);
      await clean(page, 'papers, made');
      await picture(page, 'bench-papers-all');
      equal((await got('Fetch the archive')).subarray(0, 2).toString(), 'PK', 'archive');
    })],
    ['bench: studies read in, asked, drawn, handed to the planner', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/evidence`);
      await bodyHas(page, 'No studies are kept yet');
      await picture(page, 'bench-no-studies');
      await page.getByRole('link', { name: 'Read studies in' }).click();
      const table = readFileSync(`${data}evidence/contrasts.csv`, 'utf8');
      await page.getByLabel('Table of studies').setInputFiles(put('contrasts.csv', `${table}Wrong,Wrong 2001,10,5,-3,10,4,3,growth,yes,yes,8\n`));
      await page.getByLabel('Effects are worked out as').selectOption('SMD');
      await bodyHas(page, 'cannot be used; nothing is kept');
      await bodyHas(page, 'sd1');
      await clean(page, 'studies with a fault');
      await picture(page, 'bench-studies-fault');
      await page.getByLabel('Leave out rows that cannot be used').check();
      await page.getByLabel('A row compares').selectOption('short minus failure');
      await bodyHas(page, 'can be pooled');
      await page.getByLabel('Keep these studies under the name').fill('short or failure');
      await page.getByRole('button', { name: 'Keep these studies' }).click();
      await bodyHas(page, 'Does stopping short cost growth?');
      await bodyHas(page, 'All studies');
      await bodyHas(page, 'All together');
      await picture(page, 'bench-studies');
      await page.evaluate(() => document.querySelectorAll('details').forEach((d) => (d.open = true)));
      await clean(page, 'studies asked');
      check(!(await page.textContent('body')).match(/undefined|NaN|\[object/), 'broken text');
      await page.getByLabel('Does it depend on').selectOption('weeks');
      await bodyHas(page, 'By weeks');
      await page.getByRole('button', { name: 'Small studies against large' }).click();
      await bodyHas(page, 'Within the cone lie 95 %');
      await page.evaluate(() => document.querySelectorAll('details').forEach((d) => (d.open = false)));
      await page.locator('svg.chart .cone').scrollIntoViewIfNeeded();
      await picture(page, 'bench-funnel', { full: false });
      for (const width of [320, 640, 2560]) {
        await page.setViewportSize({ width, height: 800 });
        await fits(page, `studies at ${width}`);
      }
      await page.setViewportSize({ width: 1280, height: 900 });
      // A dose-response becomes a reading for planning.
      let doses = 'code,g,error,reserve\n';
      for (let i = 0; i < 12; i++) doses += `Study ${i},${(0.6 - 0.02 * (i % 6) + 0.01 * (i % 4)).toFixed(3)},0.1,${i % 6}\n`;
      await page.goto(`${url}#/evidence/add`);
      await page.getByLabel('Table of studies').setInputFiles(put('doses.csv', doses));
      await bodyHas(page, 'That did not work'); // no column has a name known here
      await page.getByLabel('study', { exact: true }).selectOption('code');
      await page.getByLabel('effect', { exact: true }).selectOption('g');
      await page.getByLabel('se', { exact: true }).selectOption('error');
      await bodyHas(page, '12 studies with 12 effects can be pooled');
      await clean(page, 'studies, columns picked');
      await page.getByLabel('A row compares').selectOption('groups');
      await page.getByLabel('Of what was measured, better is').selectOption('more');
      await page.getByRole('button', { name: 'Keep these studies' }).click();
      await page.getByRole('button', { name: 'Along a column' }).click();
      await bodyHas(page, 'Hand this curve to the planner');
      await page.getByLabel('Name of the reading').fill('ours');
      await clean(page, 'curve');
      await picture(page, 'bench-curve');
      await page.getByRole('button', { name: 'Keep as a reading' }).click();
      await bodyHas(page, 'Reading ours kept');
      equal((await api('api/readings')).kept.map((x) => x.name), ['ours'], 'kept');
      await page.goto(`${url}#/evidence/readings`);
      await bodyHas(page, 'ours: growth at 2 in reserve');
      await clean(page, 'readings');
      await picture(page, 'bench-readings');
      await page.getByRole('button', { name: /^Remove this reading/ }).click();
      await bodyHas(page, 'None of your own yet');
      await page.getByRole('button', { name: 'Undo', exact: true }).click();
      await bodyHas(page, 'ours: growth at 2 in reserve');
      await page.goto(`${url}#/evidence/published`);
      await bodyHas(page, 'read in the work itself');
      await page.getByLabel('Search in them').fill('failure');
      await clean(page, 'published');
      await picture(page, 'bench-published', { full: false });
    })],
    ['bench: ended', async () => {
      await running?.stop();
    }],
  ];
}

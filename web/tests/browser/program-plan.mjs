// The plan and the comparison against the program: a block asked for, cancelled, worked out, priced, changed by hand,
// accepted, solved again, turned down; templates; ways to train side by side.
import { readFileSync, readdirSync } from 'node:fs';
import { check, clean, equal, fits, picture, until } from './harness.mjs';

// Solvers that run as children of this program (Linux).
function solvers(child) {
  return readdirSync('/proc').filter((pid) => {
    if (!/^\d+$/.test(pid)) return false;
    try {
      const [, name, parent] = /^\d+ \((.*)\) \S (\d+)/s.exec(readFileSync(`/proc/${pid}/stat`, 'utf8'));
      return name === 'cbc' && Number(parent) === child.pid;
    } catch {
      return false;
    }
  });
}

export function planTests({ with_, bodyHas, api, lifter }) {
  const blocks = () => api(`api/lifters/${lifter().id}/blocks`);
  const shown = async () => (await blocks()).proposed ?? (await blocks()).accepted;
  const sound = async (page) => {
    await page.evaluate(() => document.querySelectorAll('details').forEach((d) => (d.open = true)));
    check(!(await page.textContent('body')).match(/undefined|NaN|\[object/), 'broken text');
    await page.evaluate(() => document.querySelectorAll('details').forEach((d) => (d.open = false)));
  };
  // As soon as a plan is known with its bound, unless it is ready before that.
  const bestSoFar = async (page) => {
    const over = async () => (await api('api/jobs')).jobs.find((j) => j.kind === 'plan')?.state !== 'running';
    await until(async () => (await api('api/jobs')).jobs.find((j) => j.kind === 'plan')?.text.includes('within') || (await over()), 'a plan with its bound', 60000);
    await page.getByRole('button', { name: 'Stop, take the best so far' }).click({ timeout: 2000 }).catch(() => undefined);
    await until(over, 'stopped', 30000);
  };
  return [
    ['program: a block is asked for; cancelled, or its window closed, no solver stays', () => with_({}, async (page, { url, child }) => {
      await page.goto(`${url}#/lifter/${lifter().id}/plan`);
      await bodyHas(page, 'Plan a block');
      await page.getByText('More rules').click();
      const rule = (name) => page.getByRole('group', { name, exact: true });
      const asFirst = async (name, label = 'Exercise', nth = 1) => rule(name).getByLabel(label, { exact: true }).selectOption({ index: nth });
      await asFirst('Done on this day of every week');
      await page.getByRole('button', { name: /^Add.*Done on this day of every week/ }).click();
      await asFirst('Order on a day with both', 'First', 2);
      await asFirst('Order on a day with both', 'Then', 2);
      check(await page.getByRole('button', { name: /^Add.*Order on a day with both/ }).isDisabled(), 'an exercise before itself');
      await asFirst('Order on a day with both', 'Then', 3);
      await page.getByRole('button', { name: /^Add.*Order on a day with both/ }).click();
      const sets = rule('Sets of single muscles a week');
      const addMuscle = page.getByRole('button', { name: /^Add.*Sets of single muscles a week/ });
      await sets.getByLabel('Muscle').selectOption('calves');
      check(await addMuscle.isDisabled(), 'a muscle without a number');
      await sets.getByLabel('At least').fill('6');
      await sets.getByLabel('At most').fill('4');
      await bodyHas(page, 'Not below the least.');
      check(await addMuscle.isDisabled(), 'at most below at least');
      await sets.getByLabel('At most').fill('8');
      await addMuscle.click();
      equal(await sets.getByRole('listitem').textContent(), 'calves, at least 6 sets, at most 8 sets take off calves, at least 6 sets, at most 8 sets', 'on the list');
      equal(await sets.locator('option[value=calves]').count(), 0, 'calves twice');
      await rule('Away').getByLabel('From', { exact: true }).fill('2030-01-10');
      await rule('Away').getByLabel('Until', { exact: true }).fill('2030-01-05');
      await bodyHas(page, 'Not before it begins.');
      await rule('Away').getByLabel('Until', { exact: true }).fill('2030-01-15');
      await page.getByRole('button', { name: /^Add.*Away/ }).click();
      check((await rule('Away').textContent()).includes('2030'), 'the stay is not on the list');
      await clean(page, 'plan, asked');
      await picture(page, 'plan-ask');
      await page.reload(); // without those rules, which make the work short
      await bodyHas(page, 'Plan a block');
      await page.getByLabel('Weeks', { exact: true }).fill('13');
      await bodyHas(page, 'A whole number from 1 to 12.');
      check(await page.getByRole('button', { name: 'Work the plan out' }).isDisabled(), 'asked with a fault');
      await page.getByLabel('Weeks', { exact: true }).fill('4');
      await page.getByRole('button', { name: 'Work the plan out' }).click();
      await until(() => solvers(child).length > 0, 'the solver at work', 90000);
      await bodyHas(page, 'The plan is being worked out');
      await clean(page, 'plan, working');
      await picture(page, 'plan-working', { full: false });
      // Others are answered meanwhile, by the program that solves.
      const t0 = performance.now();
      await api('api/roster?limit=20');
      console.log(`   the roster while solving: ${Math.round(performance.now() - t0)} ms`);
      await page.getByRole('button', { name: 'Cancel' }).first().click();
      await until(() => solvers(child).length === 0, 'the solver gone after Cancel', 10000);
      await until(async () => (await api('api/jobs')).jobs.every((j) => j.kind !== 'plan' || j.state === 'cancelled'), 'cancelled');
      equal((await blocks()).proposed, null, 'nothing is proposed');
      await page.getByRole('button', { name: 'Work the plan out' }).click();
      await until(() => solvers(child).length > 0, 'the solver at work again', 90000);
      await page.goto('about:blank');
      await until(() => solvers(child).length === 0, 'the solver gone with its window', 20000);
      await until(async () => (await api('api/jobs')).jobs.every((j) => j.state !== 'running'), 'dropped');
      equal((await blocks()).proposed, null, 'nothing is proposed still');
    })],
    ['program: a block proposed, priced, moved by drag and by key, accepted, solved again, turned down', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/lifter/${lifter().id}/plan`);
      await page.getByLabel('Weeks', { exact: true }).fill('2');
      await page.getByLabel('chest', { exact: true }).check();
      await page.getByText('More rules').click();
      const limits = page.getByRole('group', { name: 'Sets of single muscles a week' });
      await limits.getByLabel('Muscle').selectOption('calves');
      await limits.getByLabel('At most').fill('3');
      await page.getByRole('button', { name: /^Add.*Sets of single muscles a week/ }).click();
      await page.getByRole('button', { name: 'Work the plan out' }).click();
      await until(async () => (await page.textContent('body')).includes('The plan is being worked out'), 'working');
      await bestSoFar(page);
      await bodyHas(page, 'Proposed:', 60000);
      const asked = (await shown()).block;
      check(/name = "calves"\nmost_week = 3\b/.test(asked.request), `the limit is not asked for: ${asked.request}`);
      check(asked.weeks.every((w) => (w.muscle_sets.calves ?? 0) <= 3), `calves: ${asked.weeks.map((w) => w.muscle_sets.calves)}`);
      const price = page.getByLabel('Price of fatigue');
      await price.waitFor({ timeout: 60000 });
      await clean(page, 'plan, proposed');
      await sound(page);
      await picture(page, 'plan-proposed');
      // The handle, by keyboard: another price, its weeks, back.
      const before = await shown();
      await price.focus();
      await page.keyboard.press('End');
      await bodyHas(page, 'At 16 times the price');
      await bodyHas(page, 'Week 1 at 16 times the price');
      check((await price.getAttribute('aria-valuetext')).includes('strength lost'), 'the price is not said');
      await clean(page, 'plan, at a price');
      await picture(page, 'plan-price');
      await page.getByRole('button', { name: 'Back to this plan' }).click();
      // One cell by keyboard: many sets more, told at once which rules break; undone.
      const one = () => page.locator('.block-grid button.cell').first();
      await one().focus();
      await page.keyboard.press('Enter');
      const dialog = page.getByRole('dialog');
      await clean(page, 'plan, a cell');
      await picture(page, 'plan-cell', { full: false });
      await dialog.getByLabel('Sets').fill('9');
      await dialog.getByRole('button', { name: 'Save' }).click();
      await bodyHas(page, 'As changed, it breaks');
      check(/Accept with \d+ rules? broken/.test(await page.textContent('body')), 'accepting does not say that rules are broken');
      await clean(page, 'plan, rules broken');
      await picture(page, 'plan-faults', { full: false });
      await page.getByRole('button', { name: 'Undo' }).click();
      await until(async () => !(await shown()).block.edited, 'undone');
      equal((await shown()).block.weeks, before.block.weeks, 'as it was');
      // An exercise to another day with the pointer, back by key; then whole sessions change places.
      const [monday, other] = before.block.weeks[0].days;
      const mover = monday.exercises.find((e) => !other.exercises.some((o) => o.exercise === e.exercise));
      check(mover, 'no exercise can move');
      const on = async (n) => (await shown()).block.weeks.map((w) => w.days[n].exercises.map((e) => e.exercise).sort());
      const has = async (n) => (await on(n)).every((d) => d.includes(mover.exercise));
      const row = page.locator('.block-grid tbody tr').filter({ has: page.getByRole('rowheader', { name: mover.name, exact: true }) });
      await row.locator('td').nth(0).locator('button.cell').dragTo(row.locator('td').nth(1));
      await until(() => has(1), 'dragged', 20000);
      await bodyHas(page, `${mover.name} moved to`);
      await until(async () => (await row.locator('td').nth(1).locator('button.cell').count()) === 1, 'drawn there');
      await row.locator('td').nth(1).locator('button.cell').focus();
      await page.keyboard.press('Shift+ArrowLeft');
      await until(() => has(0), 'moved back by key', 20000);
      await until(async () => (await page.evaluate(() => document.activeElement?.getAttribute('data-at') ?? '')).startsWith(mover.exercise), 'the key keeps its attention');
      const first = await on(0);
      const second = await on(1);
      await page.locator('.block-grid thead .session-key').nth(0).focus();
      await page.keyboard.press('Enter');
      await clean(page, 'plan, a session');
      await picture(page, 'plan-session', { full: false });
      const names = await dialog.getByLabel('Day', { exact: true }).locator('option').allTextContents();
      await dialog.getByLabel('Day', { exact: true }).selectOption({ label: names[new Date(`${other.date}T00:00Z`).getUTCDay() - 1] });
      await dialog.getByRole('button', { name: 'Move the session' }).click();
      await until(async () => JSON.stringify([await on(1), await on(0)]) === JSON.stringify([first, second]), 'sessions changed places', 20000);
      await page.getByRole('button', { name: 'Undo' }).click();
      await until(async () => JSON.stringify(await on(0)) === JSON.stringify(first), 'and back', 20000);
      // Accepted with a word; a day falls out, which is solved again and turned down.
      const sheet = page.locator('.block'); // what the data ask for stands above it, with words of its own
      await sheet.getByLabel('Your word on it').fill('fits her weeks');
      await sheet.getByRole('button', { name: /^Accept/ }).click();
      await bodyHas(page, 'The plan:');
      equal((await blocks()).accepted.said, 'fits her weeks', 'the word on it');
      await clean(page, 'plan, accepted');
      const out = (await shown()).block.weeks[0].days.flatMap((d) => d.exercises).find((e) => e.exercise !== mover.exercise); // that one is fixed by hand
      await page.getByRole('button', { name: 'Something came between' }).click();
      await clean(page, 'plan, something came between');
      await picture(page, 'plan-between', { full: false });
      await dialog.getByLabel('What it is').selectOption('out');
      await dialog.getByLabel('Exercise', { exact: true }).selectOption(out.exercise);
      await dialog.getByLabel('Why', { exact: true }).fill('the rack is in repair');
      await dialog.getByRole('button', { name: 'Work it out again' }).click();
      await until(async () => (await page.textContent('body')).includes('The plan is being worked out'), 'working');
      await bestSoFar(page);
      await bodyHas(page, 'Proposed:', 60000);
      check(!(await blocks()).proposed.block.weeks.some((w) => w.days.some((d) => d.exercises.some((e) => e.exercise === out.exercise))), `${out.name} is still in it`);
      await sheet.getByRole('button', { name: 'Turn down' }).click();
      await bodyHas(page, 'The plan:');
      await page.locator('.block-grid thead .session-key').nth(1).click();
      await clean(page, 'plan, a day');
      await page.getByRole('button', { name: 'It falls out' }).click();
      await until(async () => (await page.textContent('body')).includes('The plan is being worked out'), 'working');
      await bestSoFar(page);
      await bodyHas(page, 'Proposed:', 60000);
      await page.getByText('What changes, and why').first().waitFor({ state: 'attached' });
      check((await blocks()).proposed.block.changes.length > 0, 'nothing is said to change');
      await sheet.getByRole('button', { name: 'Turn down' }).click();
      await bodyHas(page, 'The plan:');
      await until(async () => (await blocks()).blocks[0].state === 'rejected', 'turned down');
      await bodyHas(page, 'Blocks before');
      await page.getByRole('button', { name: /^look at/ }).first().click();
      await until(async () => (await page.locator('.block-history table').count()) > 0, 'the old block');
      await clean(page, 'plan, history');
      await sound(page);
      await picture(page, 'plan-accepted');
      await page.setViewportSize({ width: 360, height: 640 });
      await clean(page, 'plan on a phone');
      for (const width of [320, 720, 2560]) {
        await page.setViewportSize({ width, height: 900 });
        await fits(page, `plan at ${width}`);
      }
    })],
    ['program: templates looked at, copied, used, removed', () => with_({ quiet: ['422'] }, async (page, { url }) => {
      await page.goto(`${url}#/templates`);
      await bodyHas(page, 'Templates of blocks');
      await page.getByText('what it asks for').first().click();
      await clean(page, 'templates');
      await picture(page, 'templates', { full: false });
      await page.getByRole('button', { name: /^Change a copy/ }).first().click();
      await page.getByRole('dialog').getByLabel('Name', { exact: true }).fill('evenings');
      const text = page.getByRole('dialog').getByLabel('What it asks for');
      const good = await text.inputValue();
      await text.fill(`wekks = 3\n${good}`);
      await page.getByRole('button', { name: 'Save' }).click();
      await bodyHas(page, 'unknown key "wekks"');
      await clean(page, 'a template, fault');
      await picture(page, 'template-edit', { full: false });
      await text.fill(good.replace(/^name = .*$/m, 'name = "Evenings"'));
      await page.getByRole('button', { name: 'Save' }).click();
      await bodyHas(page, 'Your own.');
      await page.getByRole('button', { name: 'Plan with it Evenings' }).click();
      await clean(page, 'for whom');
      await page.getByRole('link', { name: lifter().name }).click();
      await until(async () => (await page.getByLabel('Template', { exact: true }).inputValue().catch(() => '')) === 'evenings', 'the template is chosen');
      await page.goto(`${url}#/templates`);
      await page.getByRole('button', { name: 'Remove Evenings' }).click();
      await until(async () => !(await api('api/templates')).templates.some((x) => x.own), 'removed');
    })],
    ['program: ways to train, side by side', () => with_({}, async (page, { url }) => {
      await page.goto(`${url}#/lifter/${lifter().id}/compare`);
      await bodyHas(page, 'A what-if, never a prescription');
      await clean(page, 'compare, asked');
      await page.getByLabel('Way 3').selectOption('last-failure');
      await page.getByRole('button', { name: 'Hold them side by side' }).click();
      await until(async () => (await page.locator('.ways > div').count()) === 3, 'three ways');
      await clean(page, 'compare');
      await sound(page);
      await picture(page, 'compare');
      await page.getByLabel('Held equal').selectOption('minutes');
      await page.getByLabel('Way 3').selectOption('');
      await page.getByRole('button', { name: 'Hold them side by side' }).click();
      await until(async () => (await page.locator('.ways > div').count()) === 2, 'two ways');
      await page.getByLabel('For', { exact: true }).selectOption('average');
      await page.getByLabel('Load, % of strength').fill('140');
      await bodyHas(page, 'From 30 to 95.');
      await page.getByLabel('Load, % of strength').fill('75');
      await page.getByRole('button', { name: 'Hold them side by side' }).click();
      await bodyHas(page, 'with the spreads between people that studies found');
      await page.setViewportSize({ width: 360, height: 640 });
      await clean(page, 'compare on a phone');
    })],
  ];
}

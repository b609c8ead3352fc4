// Evidence and papers against the stand-in, in the states that are hard to bring about on purpose: nothing there yet, some,
// and what fails.
import { clean, equal, fits, picture, until } from './harness.mjs';
import { deskWith } from './desk-plan.mjs';

const broken = [500, { error: { code: 'internal', message: 'a fault in the program; nothing was changed by this request', where: null } }];
const busy = [503, { error: { code: 'busy', message: 'too much is waiting to be answered; try again', where: null } }];
const report = (more = {}) => ({ rows_read: 14, effects_used: 12, studies_used: 5, measure: 'SMD', signs: 'above 0: more growth short of failure', dropped: [], left_out: [], worked_out: [], faults: [], remarks: [], ...more });
const table = (compares, more = {}) => ({
  name: 'failure or short', file: 'contrasts.csv', meaning: { toml: '', skip_bad: false, measure: 'SMD', better: null, assumed_r: null, compares }, refused: false,
  measure_words: 'standardised mean difference', report: report(), columns: [{ column: 'outcome', numeric: false, values: ['growth'] }, { column: 'weeks', numeric: true, values: [] }],
  effects: [{ line: 2, study: 'A', label: 'A 2019', effect: -0.1, se: 0.2 }], ...more,
});
const reading = { name: 'mine', rests_on: '12 effects of 5 studies', median: [1, 0.99, 0.97, 0.94, 0.9, 0.85, 0.8, 0.74, 0.68], lo80: [1, 0.96, 0.92, 0.87, 0.8, 0.72, 0.65, 0.57, 0.5], hi80: [1, 1.02, 1.02, 1.01, 0.99, 0.97, 0.94, 0.9, 0.86] };
const published = { id: 'X01', topic: 'growth', quantity: 'growth, failure against short of it', value: '0.1', lower: '-0.05', upper: '0.25', n: '15', unit: 'SMD', protocol: '', source: 'an invented source', doi: '', status: 'MEMORY', note: '' };
const job = (state, more = {}) => ({ job: '9', kind: 'papers', state, progress: state === 'running' ? 0.4 : 1, text: 'sheets of 2 of 3 lifters', started: '2031-06-01T10:00:00Z', finished: state === 'running' ? null : '2031-06-01T10:00:09Z', result: null, error: null, ...more });

export function benchDeskTests(browser, dist) {
  const with_ = deskWith(browser, dist);
  const bodyHas = (page, text) => until(async () => (await page.textContent('body')).includes(text), `"${text}" on the page`);
  const quiet = ['404', '403', '409', '422', '500', '503', 'ERR_', 'Failed to load'];
  return [
    ['desk: evidence with nothing kept, with some, and failing', () => {
      const s = { studies: [200, { studies: [] }], readings: [200, { shipped: ['plateau', 'linear'], most: 4, kept: [] }], published: [200, { results: [published] }], one: [200, table('')], ask: broken, look: busy };
      return with_({ quiet }, (method, path) => {
        if (path === '/api/studies') return method === 'GET' ? s.studies : s.look;
        if (path === '/api/readings') return s.readings;
        if (path.startsWith('/api/readings/')) return s.removed;
        if (path === '/api/published') return s.published;
        if (path === '/api/tables') return [201, { table: 't1', name: 'contrasts.csv', bytes: 40, workbook: false, sheets: [], open_format: false }];
        if (path === '/api/tables/t1/cells') return [200, { sheets: [{ sheet: '', hidden: false, more: false, rows: [{ row: 1, hidden: false, cells: [{ column: 'A', text: 'study', kind: 'text' }, { column: 'B', text: 'd', kind: 'text' }] }] }] }];
        if (path.endsWith('/ask') || path.endsWith('/fit')) return s.ask;
        if (path.startsWith('/api/studies/')) return s.one;
        return undefined;
      }, async (page, { url }) => {
        const at = async (path, text, name) => {
          await page.goto('about:blank');
          await page.goto(`${url}#/evidence${path}`);
          await bodyHas(page, text);
          await clean(page, name);
        };
        await at('', 'No studies are kept yet', 'evidence, nothing');
        await picture(page, 'evidence-none', { full: false });
        await at('/readings', 'None of your own yet', 'readings, none');
        await at('/published', 'an invented source', 'published');
        await page.getByRole('searchbox').fill('swimming');
        await bodyHas(page, 'No published result speaks of that');
        await clean(page, 'published, nothing found');
        s.studies = [200, { studies: [{ name: 'failure or short', file: 'contrasts.csv', compares: '', studies: 5, effects: 12 }] }];
        await at('', 'contrasts.csv', 'evidence, some');
        s.readings = [200, { ...s.readings[1], kept: [reading] }];
        s.removed = [409, { error: { code: 'conflict', message: 'the plan of Marit Oyelaran is held against it', where: null } }];
        await at('/readings', 'mine: growth at 2 in reserve', 'readings, one');
        await picture(page, 'evidence-reading', { full: false });
        await page.getByRole('button', { name: /mine$/ }).click();
        await bodyHas(page, 'the plan of Marit Oyelaran is held against it');
        await clean(page, 'readings, not removed');
        // A table that does not say which way round it compares; then its question fails, and works when asked again.
        await at('/of/failure%20or%20short', 'is not said yet', 'studies, not said');
        s.one = [200, table('short minus failure')];
        await at('/of/failure%20or%20short', 'a fault in the program', 'studies, the question fails');
        await picture(page, 'evidence-failing', { full: false });
        s.ask = [200, { question: 'Does stopping short of failure cost growth?', above_zero: 'more growth short of failure', answers: [{ about: 'all studies', studies: 1, effects: 1, answered: false, sentence: 'One study alone is not pooled.' }], multiplicity: '', table: report() }];
        await page.getByRole('button', { name: 'Try again' }).first().click();
        await bodyHas(page, 'One study alone is not pooled.');
        // A file that cannot be looked at, one with impossible values, and the list itself failing.
        await at('/add', 'Read studies in', 'studies, adding');
        await page.locator('input[type=file]').setInputFiles({ name: 'contrasts.csv', mimeType: 'text/csv', buffer: Buffer.from('study,d\nA,x\n') });
        await bodyHas(page, 'too much is waiting to be answered');
        await clean(page, 'studies, not looked at');
        s.look = [200, table('', { refused: true, report: report({ effects_used: 0, studies_used: 0, faults: ['line 2: sd1 is -1'], left_out: [{ reason: 'sd1 is not above 0', rows: 1, first_line: 2 }] }), effects: [] })];
        await page.getByLabel('Leave', { exact: false }).first().check();
        await bodyHas(page, '1 row cannot be used; nothing is kept');
        await clean(page, 'studies, refused');
        await picture(page, 'evidence-refused', { full: false });
        for (const path of ['studies', 'readings', 'published']) {
          s[path] = broken;
          await at(path === 'studies' ? '' : `/${path}`, 'a fault in the program', `${path}, failing`);
        }
        for (const width of [320, 360, 2560]) {
          await page.setViewportSize({ width, height: 800 });
          await fits(page, `evidence, failing, at ${width}`);
        }
      });
    }],
    ['desk: papers for nobody, on hold, while busy, failing, stopped, and some without a sheet', () => {
      const s = { paper: busy, job: job('running') };
      return with_({ quiet }, (method, path) => {
        if (path === '/api/about' && s.nobody) return [200, { version: '0.1.0', model_version: 1, today: '2031-06-01', as_of_fixed: false, lifters: 0, empty: true, data_file: 'studio.ullage', sign_in: 'none', changes: 0 }];
        if (path.includes('/papers/') && method === 'GET') return s.paper;
        if (path === '/api/papers') return s.refused ?? [202, s.job];
        if (path === '/api/jobs/9') return [200, method === 'DELETE' ? (s.job = job('cancelled')) : s.job];
        if (path === '/api/fits') return [202, job('failed', { kind: 'fit', error: { code: 'internal', message: 'the fit did not come to an end', where: null } })];
        return undefined;
      }, async (page, { url }) => {
        const make = (name) => page.getByRole('button', { name: `Make ${name}` }).click();
        await page.goto(`${url}#/papers/marit`);
        await bodyHas(page, 'Papers for Marit Oyelaran');
        await clean(page, 'papers of one');
        await make('Report to the lifter');
        await bodyHas(page, 'too much is waiting to be answered');
        await clean(page, 'papers, busy');
        s.paper = [403, { error: { code: 'not_allowed', message: 'Inês Vanterpool is on hold', where: null, holds: [{ id: 'h1', reason: 'tightness in the chest', lifts: 'a clinician’s word' }] } }];
        await page.goto(`${url}#/papers/ines`);
        await make('Report to the lifter');
        await bodyHas(page, 'is on hold: nothing is prescribed');
        await clean(page, 'papers, on hold');
        await picture(page, 'papers-hold', { full: false });
        s.paper = [409, { error: { code: 'not_fitted', message: 'the estimates of Marit Oyelaran do not rest on the log as it is now', where: null } }];
        await page.goto(`${url}#/papers/marit`);
        await make('Report to the lifter');
        await bodyHas(page, 'the fit did not come to an end');
        await clean(page, 'papers, no estimate');
        s.nobody = true;
        await page.goto(`${url}#/papers`);
        await bodyHas(page, 'Nobody is on the roster yet');
        await clean(page, 'papers, nobody');
        s.nobody = false;
        await page.reload();
        const all = page.getByRole('button', { name: /^Make.*Sheets of everyone/ });
        s.refused = busy;
        await all.click();
        await bodyHas(page, 'too much is waiting to be answered');
        s.refused = undefined;
        await all.click();
        await bodyHas(page, 'sheets of 2 of 3 lifters');
        await clean(page, 'papers, being made');
        await page.getByRole('button', { name: 'Stop', exact: true }).click();
        await bodyHas(page, 'Stopped; nothing was kept.');
        await clean(page, 'papers, stopped');
        s.job = job('failed', { error: { code: 'unavailable', message: 'the disk is full', where: null } });
        await all.click();
        await bodyHas(page, 'the disk is full');
        await clean(page, 'papers, failed');
        s.job = job('done', { result: { files: 2, sessions: 5, without: ['Inês Vanterpool: on hold'], paper: 'p1' } });
        await all.click();
        await bodyHas(page, '1 without a sheet');
        await bodyHas(page, 'Inês Vanterpool: on hold');
        await clean(page, 'papers, made');
        await picture(page, 'papers-some', { full: false });
        s.job = job('done', { result: { files: 0, sessions: 0, without: ['Inês Vanterpool: on hold'], paper: null } });
        await all.click();
        await until(async () => (await page.getByRole('button', { name: 'Fetch the archive' }).count()) === 0, 'nothing to fetch');
        await clean(page, 'papers, none');
        equal(await page.locator('progress').count(), 0, 'work under way');
      });
    }],
  ];
}

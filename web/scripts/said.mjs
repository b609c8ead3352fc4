// node scripts/said.mjs [--list]: whether what the program says to the page has a pattern in the second language
// (src/text/said). English is taken from the program's sources: every text literal with two words or more in the files below.
// A literal that is put together with others is held against the patterns as a piece, {} standing for what comes in between.
// So a sentence that is new or was changed fails here; whether its pieces are put together as a pattern expects does not show
// here, but in tests/unit/said.test.ts, with sentences of the running program. --list prints what every file says.
import { readFileSync } from 'node:fs';

// The files that speak to the page.
const FILES = `
engine/safety/rules.cc engine/training/equipment.cc
engine/planning/why.cc engine/planning/set_planner.cc engine/planning/test_proposal.cc engine/planning/stimulus.cc engine/planning/lighter_week.cc
engine/planning/block.cc engine/planning/block_rules.cc engine/planning/block_words.cc engine/planning/block_solve.cc
engine/capacity/summary.cc engine/capacity/training_log.cc engine/capacity/repeated_calls.cc engine/capacity/update.cc
engine/capacity/posterior.cc
engine/comparing/way.cc engine/comparing/compare.cc engine/evidence/effect_size.cc
engine/evidence/design.cc engine/evidence/pool.cc engine/evidence/multilevel.cc engine/evidence/small_study.cc
engine/evidence/robust.cc engine/evidence/reading.cc
service/coach/roster.cc service/coach/doubt.cc service/coach/lift_view.cc service/coach/pains.cc service/coach/floor.cc service/coach/floor_time.cc service/coach/sessions.cc
service/coach/session_log.cc service/coach/block.cc service/coach/block_problem.cc service/coach/block_check.cc
service/coach/block_request.cc service/coach/block_templates.cc service/coach/block_text.cc service/coach/compare.cc
service/coach/steering.cc service/coach/evidence.cc service/coach/evidence_words.cc service/coach/studies.cc service/coach/readings.cc
service/coach/records.cc service/coach/desk.cc service/coach/estimates.cc service/coach/read_in.cc
service/solver/cbc.cc service/store/sqlite.cc service/store/sqlite_care.cc service/store/sqlite_history.cc
service/store/sqlite_open.cc service/store/sqlite_writer.cc
service/interchange/read_log.cc service/interchange/row_parser.cc service/interchange/cell_text.cc
service/interchange/log_columns.cc service/interchange/suggest_mapping.cc service/interchange/table_header.cc
service/interchange/compact_sets.cc service/interchange/session_line.cc service/interchange/study_table.cc
service/interchange/csv_reader.cc service/interchange/workbook.cc service/interchange/workbook_shape.cc
service/interchange/workbook_table.cc service/interchange/mapping_pick.cc service/interchange/mapping.cc
service/interchange/mapping_reader.cc service/interchange/mapping_reader.h service/interchange/workbook_xlsx.cc service/interchange/workbook_ods.cc
service/interchange/xml_reader.cc service/interchange/zip_parts.cc service/library/library.cc
server/api_blocks.cc server/api_estimates.cc server/api_evidence.cc server/api_floor.cc server/api_health.cc
server/api_library.cc server/api_lifters.cc server/api_papers.cc server/api_program.cc server/api_sets.cc server/api_steering.cc
server/api_tables.cc
server/jobs.cc server/problem.cc server/reading.cc server/zip.cc server/answer.cc
server/application.cc
`.trim().split(/\s+/);

// The files that write papers, whose patterns are data/words/papers_de.json as well.
const PAPERS = `
service/coach/documents.cc service/coach/documents_report.cc service/coach/paper.cc
service/documents/session_sheet.cc service/documents/overview.cc service/documents/findings.cc
`.trim().split(/\s+/);

// Literals in those files that never reach the page, or are no language: [what it begins with (or what it is like), why].
const EXCEPT = [
  ['same load', 'a word of the interface'],
  ['same reps', 'a word of the interface'],
  ['top set', 'a word of the interface'],
  ['as usual', 'a word of the interface'],
  ['not asked', 'a word of the interface'],
  ['more sets', 'a word of the interface'],
  ['lower reps', 'a word of the interface'],
  ['higher reps', 'a word of the interface'],
  ['other exercise', 'a word of the interface'],
  ['barbell compound', 'a word of the interface'],
  ['supported compound', 'a word of the interface'],
  ['text/html', 'a header'],
  ['text/calendar', 'a header'],
  ['application/json', 'a header'],
  ['attachment; filename', 'a header'],
  ['[[exercise]]', 'text of a file'],
  [': ullage word add', 'looked for and taken out'],
  ['" is lifted by a clinician', 'its pattern is without the command that ends it'],
  [' is not "', 'part of the name of a choice of rows on the command line'],
  ['the file', 'part of the sentence before it'],
  ['a block without weeks', 'the check of an empty problem, which no request makes'],
  ['very easy', 'a name of the engine; the page has its own'],
  ['growth ratios of 0 to 1000', 'checked before a reading is kept'],
  ['a growth ratio of 1', 'checked before a reading is kept'],
  [': at least one draw', 'checked before a reading is kept'],
  ['reading: a name', 'checked before a reading is kept'],
  ['estimate: there are no draws', 'a fault of the program'],
  ['there are no draws to plan from', 'a fault of the program'],
  ['lift: not in the draws', 'a fault of the program'],
  ['strategies: at least one', 'asked before'],
  ['": it names no sets', 'a fault of the program'],
  ['": a total load above 0', 'a fault of the program'],
  ['reserve: and 1 to 10 reps', 'spelling of a way, which the page picks from a list'],
  ['list: and 0 to 10 reps', 'spelling of a way, which the page picks from a list'],
  ['a list of at most 20 sets', 'spelling of a way, which the page picks from a list'],
  ['failure, reserve:2', 'spelling of a way, which the page picks from a list'],
  ['shipped template ', 'a fault of the program'],
  ['a set before ', 'a fault of the program'],
  ['no file ', 'of files the command line reads'],
  ['it is longer than ', 'of files the command line reads'],
  ['--method: ', 'an option of the command line'],
  ['--cluster: ', 'an option of the command line'],
  ['--check needs', 'an option of the command line'],
  ['lifts_holds: ', 'the name of a field'],
  ['a line needs as many weights', 'a fault of the program'],
  ['plain gym', 'a place that is assumed, which the page names itself'],
  ['empty bar', 'words of the printed sheet'],
  [': other computers could reach', 'said at the start, on the command line'],
  ['no folder for passing files', 'said at the start, on the command line'],
  ['warm up', 'a word looked for in a file'],
  [/^(Welcome to the CBC|proven infeasible|Problem is infeasible|relaxation infeasible|No feasible solution|Optimal solution|best |on tree|Continuous objective|Integer solution|MIPStart|with cost|Lower bound)/, 'words of the solver, which are looked for'],
  ['/usr/local/bin', 'a path'],
  ['SQLite format', 'how a data file begins'],
  ['Liberation S', 'a font'],
  ['an import needs an id', 'a fault of the program'],
  [' both sides', 'a set read back, which the page writes itself'],
  ['%s%lld', 'a time of day'],
  ['the built-in exercise library', 'a fault of the program'],
];

// What is asked of the data file.
const SQL = /\b(SELECT|INSERT|UPDATE|DELETE|CREATE|DROP|PRAGMA|WHERE|FROM|VALUES|SAVEPOINT|ROLLBACK|RELEASE|BEGIN|json_set|json_extract)\b/;

const root = new URL('../../', import.meta.url);

// The literals of a C++ text; those side by side are one.
export function literals(source) {
  const token = /\/\/[^\n]*|\/\*[\s\S]*?\*\/|^\s*#[^\n]*|R"(\w*)\([\s\S]*?\)\1"|'(?:\\.|[^'\\])'|"((?:\\.|[^"\\])*)"|\s+|[\s\S]/gm;
  const out = [];
  let open;
  let line = 1;
  for (const m of source.matchAll(token)) {
    if (m[2] !== undefined) open ? (open.text += m[2]) : out.push((open = { line, text: m[2] }));
    else if (!/^(\s+|\/\/[^\n]*|\/\*[\s\S]*)$/.test(m[0])) open = undefined;
    line += m[0].split('\n').length - 1;
  }
  return out.map(({ line: at, text }) => ({ line: at, text: text.replace(/\\n/g, '\n').replace(/\\(["'\\])/g, '$1') }));
}
// Parts that are said one by one; without what joins them, and without the option a fault begins with (the page has a field).
const parts = (text) => text.replace(/^--[a-z-]+:? */, '').split(/\n|; |: /).map((p) => p.replace(/^"?[;:,.] *|; *$/g, '').trim());
const pieces = (text) => text.replace(/\{\{|\}\}/g, '').split(/\{[^{}]*\}/).map((p) => p.trim()).filter(Boolean);
const speaks = (text) => (pieces(text).join(' ').match(/[A-Za-z]{2,}/g) ?? []).length >= 2 && /[a-z]{2,}[ ,;:]|[ ][a-z]{2,}/.test(text);

// English forms of a pattern: with and without each "(s)", {} for every place.
export function forms(english) {
  const plain = english.replace(/\{[^{}]*\}/g, '{}');
  return plain.includes('(s)') ? [plain.replaceAll('(s)', ''), plain.replaceAll('(s)', 's')] : [plain];
}
export function missing(patterns) {
  const printed = JSON.parse(readFileSync(new URL('data/words/papers_de.json', root), 'utf8')).patterns;
  const onPage = patterns.flatMap(([english]) => forms(english));
  const onPaper = [...onPage, ...printed.flatMap(([english]) => forms(english))];
  let said = onPage;
  const fits = (text) => {
    const all = pieces(text);
    return said.some((s) => {
      let at = 0;
      return all.every((p) => (at = s.indexOf(p, at)) >= 0 && ((at += p.length), true));
    });
  };
  const has = (text) => fits(text) || parts(text).every(fits);
  const used = new Set();
  const found = [];
  let count = 0;
  let excepted = 0;
  for (const file of [...FILES, ...PAPERS]) {
    said = PAPERS.includes(file) ? onPaper : onPage;
    for (const { line, text } of literals(readFileSync(new URL(file, root), 'utf8'))) {
      if (!speaks(text) || SQL.test(text)) continue;
      const except = EXCEPT.find(([like]) => (typeof like === 'string' ? text.startsWith(like) : like.test(text)));
      if (except) {
        used.add(except);
        excepted++;
        continue;
      }
      count++;
      found.push({ file, line, text, has: has(text) });
    }
  }
  return { found, count, excepted, unused: EXCEPT.filter((e) => !used.has(e)).map(([like]) => like) };
}

if (import.meta.url === `file://${process.argv[1]}`) {
  const { training } = await import('../src/text/said/training.ts');
  const { blocks } = await import('../src/text/said/blocks.ts');
  const { evidence } = await import('../src/text/said/evidence.ts');
  const { desk } = await import('../src/text/said/desk.ts');
  const { tables } = await import('../src/text/said/tables.ts');
  const patterns = [...training, ...blocks, ...evidence, ...desk, ...tables];
  const { found, count, excepted, unused } = missing(patterns);
  const not = found.filter((f) => !f.has);
  if (process.argv.includes('--list')) for (const f of found) console.log(`${f.has ? ' ' : '!'} ${f.file}:${f.line}: ${f.text}`);
  for (const f of not) console.error(`${f.file}:${f.line}: no pattern for "${f.text}"`);
  for (const u of unused) console.error(`scripts/said.mjs: nothing is like "${u}": take the exception out`);
  console.log(`${patterns.length} patterns; ${count} pieces of sentences in ${FILES.length + PAPERS.length} files, ${count - not.length} with a pattern; ${excepted} never on the page`);
  process.exit(not.length || unused.length ? 1 : 0);
}

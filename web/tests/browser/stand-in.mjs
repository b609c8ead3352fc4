// A stand-in for the program with invented lifters, for states that are hard to bring about on purpose: a program that
// goes away, a clash, a refusal, a hold. It answers in the shapes of docs/api/openapi.json (checked in run.mjs).
import { createReadStream, existsSync, readFileSync, statSync } from 'node:fs';
import { createServer } from 'node:http';
import { extname, join } from 'node:path';

const types = { '.html': 'text/html; charset=utf-8', '.js': 'text/javascript', '.css': 'text/css', '.svg': 'image/svg+xml', '.woff2': 'font/woff2', '.webmanifest': 'application/manifest+json', '.txt': 'text/plain' };
export const policy =
  "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const interval = (median, wide) => ({ median, lo80: Math.max(0, median - wide), hi80: median + wide * 1.2, sd: wide / 1.28 });
const kg = (amount) => ({ amount, unit: 'kg' });
const today = () => {
  const d = new Date();
  return `${d.getFullYear()}-${String(d.getMonth() + 1).padStart(2, '0')}-${String(d.getDate()).padStart(2, '0')}`;
};
const dayBefore = (n) => {
  const d = new Date();
  d.setDate(d.getDate() - n);
  return `${d.getFullYear()}-${String(d.getMonth() + 1).padStart(2, '0')}-${String(d.getDate()).padStart(2, '0')}`;
};
const lifts = {
  'bench-press': { name: 'Bench press', strength: 121, load: 100, plates: [20, 15, 5], rest: 180, capacity: 9.6 },
  'chest-supported-row': { name: 'Chest-supported row', strength: 92, load: 70, plates: [20, 5], rest: 150, capacity: 12 },
  'lateral-raise': { name: 'Lateral raise', strength: 19, load: 12, plates: [], rest: 90, capacity: 14 },
};
const usual = Object.keys(lifts); // a swap adds to lifts
const gateOpen = { allowed: true, holds: [], least_reserve: 0, least_reserve_from: '', extra_reserve: 0, extra_reserve_from: '', load_cap_share: null, load_cap_from: '', barred: [], failure: true, no_failure: '', cautions: [] };
const cautions = ['Set the safety bars or have the spotters in place before the first work set.', 'Stop and seek help at once: chest pain, fainting, sudden severe headache, breathlessness that does not pass; in the days after, dark urine with muscle swelling or weakness.'];

export function makeState() {
  const people = [
    { id: 'marit', lifter: 'Marit Oyelaran', reasons: [{ kind: 'judgement', text: 'has 1.4 reps more than called (1.1-1.8)' }] },
    { id: 'bo', lifter: 'Bo Tamsin-Achterberg', reasons: [] },
    { id: 'ines', lifter: 'Inês Vanterpool', reasons: [{ kind: 'hold', text: 'tightness in the chest on the stairs: to be seen by a clinician first' }] },
  ];
  const s = { people, floors: new Map(), change: 10, seen: new Map(), away: false, slow: 0, refuse: null, log: [], requests: 0 };
  s.hold = new Map([['ines', [{ id: 'h1', reason: 'tightness in the chest on the stairs: to be seen by a clinician first', lifts: 'a clinician’s word on training, recorded with its date and naming this hold' }]]]);
  return s;
}

function planSet(id, i, done, kind = 'work') {
  const l = lifts[id];
  if (kind === 'warmup') {
    const load = [20, 60, 80][i];
    return { kind, load_kg: load, load: kg(load), plates: [[], [20], [20, 10]][i].map(kg), reps: [8, 5, 3][i], rest_s: 60, stop_cue: null, capacity: interval(30, 4), reserve: interval(20, 4), reps_done: interval(8, 0), p_complete: 1, p_miss: 0, p_short: 0, p_band: 0, to_failure: false };
  }
  const capacity = l.capacity - 0.5 * (i + done);
  const reps = Math.max(1, Math.round(capacity) - 2);
  return {
    kind, load_kg: l.load, load: kg(l.load), plates: l.plates.map(kg), reps, rest_s: l.rest, stop_cue: { called: '1', text: 'stop when you would call 1' },
    capacity: interval(capacity, 1.1), reserve: interval(capacity - reps, 0.9), reps_done: interval(reps, 0.4), p_complete: 0.9, p_miss: 0.03, p_short: 0.08, p_band: 0.7, to_failure: false,
  };
}
function newFloor(s, id, date) {
  return { exercises: [...usual], swapped: {}, out: new Set(), done: [], started: null, finished: null, date, lifter: id };
}
function floorOf(s, id, date) {
  const key = `${id}/${date}`;
  if (!s.floors.has(key)) s.floors.set(key, newFloor(s, id, date));
  return s.floors.get(key);
}
function floorJson(s, id, date) {
  const f = floorOf(s, id, date);
  const person = s.people.find((p) => p.id === id);
  const holds = s.hold.get(id) ?? [];
  const items = f.exercises.filter((e) => !f.out.has(e)).map((e) => {
    const done = f.done.filter((d) => d.set.exercise === e && d.set.kind !== 'warmup').length;
    const left = 3 - done;
    return {
      exercise: e, name: lifts[e].name, side: 'both', strategy: 'same load', band: [2, 4], miss_limit: 0.1,
      sets: [...(done === 0 && e === 'bench-press' ? [0, 1, 2].map((i) => planSet(e, i, 0, 'warmup')) : []), ...Array.from({ length: Math.max(0, left) }, (_, i) => planSet(e, i, done))],
      why: 'You say 1 and have about 2: stop at ‘would call 1’; 2 reps more would be a coin toss (52 %).', remarks: [], minutes: 14,
    };
  }).filter((i) => i.sets.some((x) => x.kind === 'work'));
  const first = items[0];
  const firstSet = first?.sets.find((x) => x.kind === 'work');
  const done = f.done.filter((d) => first && d.set.exercise === first.exercise).length;
  return {
    lifter: person.lifter, id, unit: 'kg', answers_in_halves: id === 'bo', date, session: '', started: f.started, finished: f.finished,
    place: { place: 'boathouse', name: 'Boathouse gym', assumed: false, safety_bars: true }, gate: holds.length ? { ...gateOpen, allowed: false, holds } : gateOpen, fitted: true,
    plan: holds.length ? null : { lifter: person.lifter, date, items, left_out: [], minutes: 41, cautions },
    next: !holds.length && first && !f.finished ? { exercise: first.exercise, name: first.name, side: 'both', set: firstSet, work_set: done + 1, work_sets: 3 } : null,
    notes: [], no_next: holds.length ? 'on hold' : first ? '' : 'All sets are done.', done: f.done, rest_since: f.done.at(-1)?.at ?? null,
  };
}

export function answer(s, method, path, query, body) {
  const m = (pattern) => {
    const r = new RegExp(`^${pattern.replace(/\{(\w+)\}/g, '(?<$1>[^/]+)')}$`).exec(path);
    return r && Object.fromEntries(Object.entries(r.groups ?? {}).map(([k, v]) => [k, decodeURIComponent(v)]));
  };
  const no = (status, code, message, more = {}) => [status, { error: { code, message, where: null, ...more } }];
  const date = query.get('date') || body?.date || today();
  let p;
  const also = s.also?.(method, path, body, query); // what one journey alone needs
  if (also) return also;
  if (path === '/api/about') return [200, { version: '0.1.0', model_version: 1, today: today(), as_of_fixed: false, lifters: s.people.length, empty: !s.people.length, data_file: 'studio.ullage', sign_in: 'none', changes: s.change }];
  if (path === '/api/settings' && method === 'PATCH') {
    s.settings = { ...s.settings, ...body };
    return [200, { change: ++s.change, settings: answer(s, 'GET', path, query)[1] }];
  }
  if (path === '/api/settings') return [200, { language: s.language ?? 'en', unit: 'kg', date_format: 'dmy', decimal: 'dot', paper: 'a4', week_start: 'monday', clock: '24', theme: 'auto', ...s.settings }];
  if (path === '/api/roster') {
    const q = (query.get('q') ?? '').toLowerCase();
    let rows = s.people.filter((x) => x.lifter.toLowerCase().includes(q) && (!query.get('kind') || x.reasons.some((r) => r.kind === query.get('kind'))));
    if (query.get('sort') === 'name') rows = [...rows].sort((a, b) => a.lifter.localeCompare(b.lifter));
    const counts = {};
    for (const x of s.people) for (const r of x.reasons) counts[r.kind] = (counts[r.kind] ?? 0) + 1;
    const limit = Number(query.get('limit') ?? 100);
    return [200, { as_of: today(), total: s.people.length, standing_out: s.people.filter((x) => x.reasons.length).length, matching: rows.length, offset: 0, pending: 0, counts, lifters: rows.slice(0, limit).map((x) => ({ ...x, last_session: dayBefore(1), sessions: 40, sets: 620, pending: false })) }];
  }
  if (path === '/api/demo') {
    s.people.push(...makeState().people);
    return [201, { change: ++s.change, sets: 1860, lifters: [], job: { job: '1', kind: 'fit', state: 'done', progress: 1, text: 'fitted 3 of 3', started: new Date().toISOString(), finished: new Date().toISOString(), result: null, error: null } }];
  }
  if (path === '/api/floor') return [200, { date, sessions: [...s.floors.values()].map((f) => ({ lifter: s.people.find((x) => x.id === f.lifter).lifter, id: f.lifter, date: f.date, session: '', started: f.started, finished: f.finished, sets: f.done.length })) }];
  if ((p = m('/api/lifters/{lifter}/floor')) && method === 'GET') return s.people.some((x) => x.id === p.lifter) ? [200, floorJson(s, p.lifter, date)] : no(404, 'not_found', `no lifter is named ${p.lifter}`);
  if ((p = m('/api/lifters/{lifter}/floor/start'))) {
    floorOf(s, p.lifter, date).started = new Date().toISOString();
    return [200, { floor: floorJson(s, p.lifter, date), change: ++s.change }];
  }
  if ((p = m('/api/lifters/{lifter}/floor/sets')) && method === 'POST') {
    const f = floorOf(s, p.lifter, date);
    s.log.push({ lifter: p.lifter, ...body });
    const id = body.client_id;
    const had = s.seen.get(id);
    const stored = { id: String(1000 + s.seen.size), date, session: '', exercise: body.exercise, name: lifts[body.exercise]?.name, side: body.side ?? 'both', load: body.load, reps: body.reps, failed: !!body.failed, called_reserve: body.called_reserve ?? null, rest_s: body.rest_s ?? null, kind: body.kind ?? 'work', stop: 'unknown', planned_reps: body.planned_reps ?? null, cue: body.cue ?? null, pain: !!body.pain, note: body.note ?? '' };
    const logged = { client_id: id, change: ++s.change, set: stored, expected: null, duplicate: false, withdrawn: false, pain_opened: false, remarks: [] };
    if (s.refuse) {
      const [status, code, message] = s.refuse;
      s.refuse = null;
      if (code === 'clash') return no(status, code, message, { stored: { ...stored, reps: stored.reps - 1, called_reserve: '3' } });
      return no(status, code, message);
    }
    if (had === 'withdrawn') return [200, { floor: floorJson(s, p.lifter, date), logged: { ...logged, withdrawn: true } }];
    if (had) return [200, { floor: floorJson(s, p.lifter, date), logged: { ...logged, duplicate: true } }];
    s.seen.set(id, stored);
    const before = f.done.filter((d) => d.set.exercise === body.exercise).length;
    f.done.push({ client_id: id, at: body.done_at ?? new Date().toISOString(), set: stored, expected: { capacity: planSet(body.exercise in lifts ? body.exercise : 'bench-press', 0, before).capacity, reserve: interval(2, 1), p_complete: 0.9 } });
    f.started ??= new Date().toISOString();
    if (body.pain) f.out.add(body.exercise);
    return [200, { floor: floorJson(s, p.lifter, date), logged }];
  }
  if ((p = m('/api/lifters/{lifter}/floor/sets/{client_id}')) && method === 'DELETE') {
    const f = floorOf(s, p.lifter, date);
    f.done = f.done.filter((d) => d.client_id !== p.client_id);
    s.seen.set(p.client_id, 'withdrawn');
    return [200, { floor: floorJson(s, p.lifter, date), change: ++s.change }];
  }
  if ((p = m('/api/lifters/{lifter}/floor/alternatives'))) return [200, { exercises: [{ exercise: 'dumbbell-bench-press', name: 'Dumbbell bench press', overlap: 0.95, done_before: true }, { exercise: 'press-up', name: 'Press-up', overlap: 0.9, done_before: false }] }];
  if ((p = m('/api/lifters/{lifter}/floor/swap'))) {
    const f = floorOf(s, p.lifter, date);
    lifts[body.with] ??= { ...lifts[body.exercise], name: 'Dumbbell bench press', load: 40, plates: [] };
    f.exercises = f.exercises.map((e) => (e === body.exercise ? body.with : e));
    return [200, { floor: floorJson(s, p.lifter, date), change: ++s.change }];
  }
  if ((p = m('/api/lifters/{lifter}/floor/pain'))) {
    floorOf(s, p.lifter, date).out.add(body.exercise);
    return [200, { floor: floorJson(s, p.lifter, date), change: ++s.change }];
  }
  if ((p = m('/api/lifters/{lifter}/floor/finish'))) {
    floorOf(s, p.lifter, date).finished = body.finished ? new Date().toISOString() : null;
    return [200, { floor: floorJson(s, p.lifter, date), change: ++s.change }];
  }
  const asked = /^\/api\/lifters\/([^/]+)/.exec(path);
  if (asked && !s.people.some((x) => x.id === decodeURIComponent(asked[1]))) return no(404, 'not_found', `no lifter is named ${asked[1]}`);
  if ((p = m('/api/lifters/{lifter}/session'))) {
    const person = s.people.find((x) => x.id === p.lifter);
    const holds = s.hold.get(p.lifter);
    if (holds) return no(403, 'not_allowed', `${person.lifter} is on hold`, { holds });
    const f = floorJson(s, p.lifter, date);
    return [200, { lifter: person.lifter, id: p.lifter, date, session: '', plan: f.plan, why_empty: '', done: [], repeats: dayBefore(7), place: f.place, steered: s.steered ?? [], proposals: [], change: 0 }];
  }
  if ((p = m('/api/lifters/{lifter}')) && method === 'GET') {
    const person = s.people.find((x) => x.id === p.lifter);
    if (!person) return no(404, 'not_found', `no lifter is named ${p.lifter}`);
    const f = floorJson(s, p.lifter, date);
    return [200, { profile: { lifter: person.lifter, id: p.lifter, born: '1985-03-02', sex: 'unknown', training_years: 9, since: null, goal: 'a stronger press', unit: s.unit ?? 'kg', days_per_week: 4, minutes_per_session: 60, place: 'boathouse', avoid: [], answers_in_halves: false, note: '', body_mass: [{ date: dayBefore(3), mass: kg(72.5) }] }, gate: f.gate, place: { place: 'boathouse', name: 'Boathouse gym', assumed: false }, fitted: true, sessions: 40, sets: 620, last_session: dayBefore(1) }];
  }
  const estimateOf = (id) => ({ exercise: id, name: lifts[id].name, side: 'both', marks: false, strength_kg: interval(lifts[id].strength, lifts[id].strength * 0.025), endurance: interval(32, 4), reps_at_80: interval(8.4, 0.6), fatigability: interval(0.6, 0.2), fatigability_set4: interval(1.3, 0.3), trend_pct_per_week: interval(0.3, 0.15), learned: 0.96, learned_fatigability: 0.7, sets_used: 212, usual_rest_s: 170, first: dayBefore(400), last: dayBefore(1), why: { strength: '212 sets, the heaviest of them 110 kg x 3.', endurance: 'Sets of 5 to 12 reps.', fatigability: '61 pairs of sets.', trend: 'The last eight weeks.' } });
  if ((p = m('/api/lifters/{lifter}/estimate'))) {
    const person = s.people.find((x) => x.id === p.lifter);
    return [200, { lifter: person.lifter, id: p.lifter, as_of: today(), last_session: dayBefore(1), model_version: 1, exercises: Object.keys(lifts).map(estimateOf), judgement: { bias_reps: interval(0.9, 0.3), at_called: [0, 1, 2, 3, 4, 5].map((c) => ({ called: c, true_reserve: interval(c + 0.9 + c * 0.1, 0.6 + c * 0.2) })), learned: 0.9, calls: [{ called: '2', sets: 80 }, { called: '1', sets: 61 }], why: '141 calls, 9 sets to failure.' }, readiness: interval(0, 0.02), suspects: [], remarks: [] }];
  }
  if ((p = m('/api/lifters/{lifter}/lifts/{exercise}'))) {
    const person = s.people.find((x) => x.id === p.lifter);
    const strength = lifts[p.exercise].strength;
    const history = Array.from({ length: 40 }, (_, i) => { const v = strength * (0.86 + 0.14 * (1 - Math.exp(-i / 14)) / (1 - Math.exp(-39 / 14))); return { date: dayBefore((39 - i) * 9), median: v, lo80: v * 0.975, hi80: v * 1.03 }; });
    const sets = history.flatMap((h, i) => [0, 1].map((k) => ({ id: String(i * 2 + k), date: h.date, session: '', exercise: p.exercise, name: lifts[p.exercise].name, side: 'both', load: kg(lifts[p.exercise].load), reps: 8, failed: false, called_reserve: '2', rest_s: 180, kind: 'work', stop: 'unknown', planned_reps: 8, cue: '1', pain: false, note: '', kg: h.median + Math.sin(i * 3.7 + k) * strength * 0.022, at_least: (i + k) % 7 === 0 })));
    return [200, { lifter: person.lifter, id: p.lifter, estimate: estimateOf(p.exercise), history, sets, left_out: 0 }];
  }
  if ((p = m('/api/lifters/{lifter}/forecast'))) return [200, { lifter: s.people.find((x) => x.id === p.lifter).lifter, exercise: body.exercise, side: 'both', date: today(), load_kg: body.load.amount, load: body.load, total_kg: body.load.amount, rest_s: body.rest_s ?? 120, sets: body.reps.map((reps, i) => ({ reps, capacity: interval(9.4 - i * 0.5, 1 + i * 0.2), reserve: interval(Math.max(0, 9.4 - i * 0.5 - reps), 0.8), p_complete: 0.97 - i * 0.05 })), known: true, outside_seen: false }];
  if ((p = m('/api/lifters/{lifter}/steering'))) {
    const form = { from: dayBefore(14), to: dayBefore(1), sessions: 6, planned: 48, missed: 2, told: 2.6, chance: 0.7, lifts: 5, against_forecast: { median: -0.004, lo80: -0.021, hi80: 0.013, sd: 0.013 }, p_under: 0.62, readiness: 0.001, spent_against_before: 1.04 };
    return [200, { lifter: s.people.find((x) => x.id === p.lifter).lifter, id: p.lifter, today: today(), holds: s.hold.get(p.lifter) ?? null, form: s.hold.has(p.lifter) ? null : form, proposals: [], decided: [] }];
  }
  if (path === '/api/places') return [200, { places: [] }];
  if (path === '/api/undo') return [200, { change: ++s.change }];
  return no(404, 'not_found', `nothing is at ${path}`);
}

export function serve(dist, port = 0, state = makeState()) {
  const listeners = new Set();
  const server = createServer((req, res) => {
    const url = new URL(req.url, 'http://localhost');
    const chunks = [];
    req.on('data', (c) => chunks.push(c));
    req.on('end', () => {
      const send = () => {
        if (state.away) return req.socket.destroy();
        if (url.pathname === '/api/events') {
          res.writeHead(200, { 'Content-Type': 'text/event-stream' });
          res.write(': here\n\n');
          listeners.add(res);
          res.on('close', () => listeners.delete(res));
          return;
        }
        if (url.pathname.startsWith('/api/')) {
          const text = Buffer.concat(chunks).toString();
          state.requests++;
          const [status, json] = answer(state, req.method, url.pathname, url.searchParams, text && (req.headers['content-type'] ?? '').includes('json') ? JSON.parse(text) : undefined);
          state.answered?.(req.method, url.pathname, status, json);
          res.writeHead(status, { 'Content-Type': 'application/json', 'Cache-Control': 'no-store' });
          res.end(JSON.stringify(json));
          if (req.method !== 'GET' && status < 300) for (const l of listeners) l.write(`event: change\ndata: {"change":${state.change}}\n\n`);
          return;
        }
        const file = join(dist, url.pathname === '/' ? 'index.html' : decodeURIComponent(url.pathname).replace(/\.\./g, ''));
        if (!existsSync(file) || !statSync(file).isFile()) {
          res.writeHead(404, { 'Content-Type': 'text/plain' });
          return res.end('nothing here');
        }
        res.writeHead(200, { 'Content-Type': types[extname(file)] ?? 'application/octet-stream', 'Content-Security-Policy': policy, 'Cache-Control': file.includes('/assets/') ? 'max-age=31536000, immutable' : 'no-cache' });
        createReadStream(file).pipe(res);
      };
      if (state.slow) setTimeout(send, state.slow);
      else send();
    });
  });
  return new Promise((ready) => server.listen(port, '127.0.0.1', () => ready({ server, state, url: `http://localhost:${server.address().port}/` })));
}
void readFileSync;

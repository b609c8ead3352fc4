// One lifter: what they have, what it rests on, what was done, and who they are.
import { useEffect, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { Estimate, LiftEstimate, LifterPage as Page, PlanSet } from '../api/types';
import { JudgementPicture, StrengthPicture, Whisker } from '../design/Chart';
import { Blank, Empty, Failure, Holds, Loading, Notice, Said, Why } from '../design/parts';
import { Vessels } from '../design/Vessel';
import { ago, chance, clock, day, fixed, inUnit, intervalIn, load, num, range, readNumber, withRange } from '../format';
import { link, type Route } from '../router';
import { t, type TextKey } from '../text';
import { askAhead, asked, useAsk } from '../use';
import { ComparePart } from './compare';
import { FitNow } from './fit';
import { HealthPart } from './health';
import { LogPart } from './log';
import { PlanPart } from './plan';
import { ProfilePart } from './profile';
import { SteerPart } from './steer';

const tabs: [string, TextKey][] = [
  ['', 'lifter.training'],
  ['plan', 'lifter.plan'],
  ['compare', 'lifter.compare'],
  ['log', 'lifter.log'],
  ['health', 'lifter.health'],
  ['profile', 'lifter.profile'],
];

const estimateOf = (id: string) => ask('GET /api/lifters/{lifter}/estimate', { path: { lifter: id } });
const liftOf = (id: string, l: LiftEstimate) => ask('GET /api/lifters/{lifter}/lifts/{exercise}', { path: { lifter: id, exercise: l.exercise }, query: { side: l.side } });
const liftKey = (id: string, l: LiftEstimate) => `lift|${id}|${l.exercise}|${l.side}`;

// The training part asks one after the other for what the one before names; here that starts with the page's own question.
function trainingAhead(id: string) {
  askAhead(`estimate|${id}`, () => estimateOf(id)).then((e) => {
    const first = e.exercises[0];
    if (first) void askAhead(liftKey(id, first), () => liftOf(id, first));
  }, () => undefined);
}

export function LifterPage({ route, changed, version }: { route: Route; changed: () => void; version: number }) {
  const id = route.parts[0] ?? '';
  const part = route.parts[1] ?? '';
  const { data, error, again } = useAsk(() => {
    if (part === '') trainingAhead(id);
    return ask('GET /api/lifters/{lifter}', { path: { lifter: id } });
  }, `${id}|${version}`);
  useEffect(() => {
    document.title = `${data?.profile.lifter ?? id} · Ullage`;
  }, [data?.profile.lifter, id]);
  if (!data) return <Blank error={error} again={again} />;
  const p = data.profile;
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <div class="line spread end">
        <div>
          <h1>{p.lifter}</h1>
          <p class="serif soft">{about(data)}</p>
        </div>
        <p class="line no-print">
          <a class="key first" href={link('floor', id)}>{t('floor.title')}</a>
          <a class="key" href={link('sheet', id)}>{t('sheet')}</a>
          <a class="key" href={link('papers', id)}>{t('papers')}</a>
        </p>
      </div>
      {!data.gate.allowed && <Holds holds={data.gate.holds} name={p.lifter} />}
      <nav class="parts" aria-label={p.lifter}>
        {tabs.map(([key, text]) => (
          <a key={key} href={link('lifter', id, key)} aria-current={key === part ? 'page' : undefined}>{t(text)}</a>
        ))}
      </nav>
      {part === '' && <Training page={data} version={version} again={again} changed={changed} />}
      {part === 'plan' && <PlanPart page={data} changed={changed} version={version} template={route.query.get('template') ?? ''} />}
      {part === 'compare' && <ComparePart page={data} version={version} />}
      {part === 'log' && <LogPart lifter={id} exercise={route.query.get('exercise') ?? ''} changed={changed} version={version} />}
      {part === 'health' && <HealthPart lifter={id} name={p.lifter} changed={changed} version={version} />}
      {part === 'profile' && <ProfilePart page={data} changed={changed} />}
    </main>
  );
}

function about(page: Page): string {
  const p = page.profile;
  const parts: string[] = [];
  const today = new Date();
  if (p.born) {
    const [y = 0, m = 1, d = 1] = p.born.split('-').map(Number);
    let age = today.getFullYear() - y;
    if (today.getMonth() + 1 < m || (today.getMonth() + 1 === m && today.getDate() < d)) age--;
    parts.push(t('age', { n: age }));
  }
  if (p.training_years !== null) parts.push(t('training.years', { n: num(p.training_years, 1) }));
  if (p.days_per_week) parts.push(t('days.a.week', { n: p.days_per_week }));
  if (p.goal) parts.push(p.goal);
  const seen = page.last_session ? t('last.seen', { when: ago(page.last_session, isoToday()) }) : t('not.seen');
  return [parts.join(', '), seen].filter(Boolean).join('. ') + '.';
}
const isoToday = () => {
  const d = new Date();
  return `${d.getFullYear()}-${String(d.getMonth() + 1).padStart(2, '0')}-${String(d.getDate()).padStart(2, '0')}`;
};

function Training({ page, version, again, changed }: { page: Page; version: number; again: () => void; changed: () => void }) {
  const id = page.profile.id;
  const { data, error, again: reask } = useAsk(() => asked(`estimate|${id}`, () => estimateOf(id)), `${id}|${version}`);
  const [chosen, setChosen] = useState('');
  if (error instanceof Refusal && error.code === 'not_fitted') {
    if (!page.sets)
      return (
        <Empty title={t('lifter.no.sets')}>
          <p>{t('lifter.no.sets.text')}</p>
          <div class="actions">
            <a class="key first" href={link('floor', id)}>{t('floor.title')}</a>
            <a class="key" href="#/import">{t('nav.import')}</a>
          </div>
        </Empty>
      );
    return <FitNow lifter={id} done={() => (reask(), again())} />;
  }
  if (!data) return error ? <Failure error={error} again={reask} /> : <Loading />;
  if (!data.exercises.length)
    return (
      <Empty title={t('lifter.no.sets')}>
        <p>{t('lifter.no.sets.text')}</p>
        <div class="actions">
          <a class="key first" href={link('floor', id)}>{t('floor.title')}</a>
          <a class="key" href="#/import">{t('nav.import')}</a>
        </div>
      </Empty>
    );
  const keyOf = (l: LiftEstimate) => `${l.exercise}/${l.side}`;
  const lift = data.exercises.find((l) => keyOf(l) === chosen) ?? data.exercises[0]!;
  return (
    <>
      <SteerPart lifter={id} version={version} changed={changed} />
      <div class="columns two">
        <div>
          <label class="field lift-choice">
            <span>{t('exercise')}</span>
            <select value={keyOf(lift)} onChange={(e) => setChosen(e.currentTarget.value)}>
              {data.exercises.map((l) => (
                <option key={keyOf(l)} value={keyOf(l)}>{nameOf(l)}</option>
              ))}
            </select>
          </label>
          <Lift key={keyOf(lift)} lifter={page.profile.id} unit={page.profile.unit} lift={lift} version={version} />
        </div>
        <JudgementPart data={data} />
      </div>
      <AllLifts data={data} unit={page.profile.unit} choose={(k) => (setChosen(k), scrollTo(0, 0))} />
      <Doubts data={data} id={id} />
    </>
  );
}
const nameOf = (l: LiftEstimate) => (l.side === 'both' ? l.name : `${l.name}, ${t(l.side === 'left' ? 'side.left' : 'side.right')}`);

export function trendText(l: LiftEstimate): string {
  const tr = l.trend_pct_per_week;
  const size = fixed(Math.abs(tr.median), 1);
  if (tr.lo80 > 0) return t('trend.up', { n: size });
  if (tr.hi80 < 0) return t('trend.down', { n: size });
  return t('trend.flat', { range: range(tr.lo80, tr.hi80, 1) });
}

function Lift({ lifter, unit, lift, version }: { lifter: string; unit: 'kg' | 'lb'; lift: LiftEstimate; version: number }) {
  const { data, error, again } = useAsk(
    () => asked(liftKey(lifter, lift), () => liftOf(lifter, lift)),
    `${lifter}|${lift.exercise}|${lift.side}|${version}`,
  );
  const name = nameOf(lift);
  const u = lift.marks ? t('unit.mark') : unit;
  const inU = (kg: number) => (lift.marks ? kg : inUnit(kg, unit));
  const strength = lift.marks ? lift.strength_kg : intervalIn(lift.strength_kg, unit);
  return (
    <>
      <h2>
        {name}: {t('strength.is', { value: withRange(strength, 0, u) })}, {trendText(lift)}
      </h2>
      {lift.assumed && <p class="soft small">{t('assumed.mostly', { p: num(Math.round((1 - lift.learned) * 100)) })}</p>}
      {error !== undefined && <Failure error={error} again={again} />}
      {!data && !error && <Loading />}
      {data && (
        <StrengthPicture label={t('strength.picture', { name })} unit={u}
          line={data.history.map((h) => ({ date: h.date, median: inU(h.median), lo80: inU(h.lo80), hi80: inU(h.hi80) }))}
          dots={data.sets.filter((s) => typeof s.kg === 'number').map((s) => ({
            date: s.date, value: inU(s.kg!), atLeast: s.at_least, aside: !!s.suspect, text: `${load(s.load)} × ${s.reps}`,
          }))} />
      )}
      <table class="facts">
        <tbody>
          <Fact head={t('strength')} value={withRange(strength, 0, u)} why={lift.why?.strength} name={name}
            rest={t('rests.on', { n: lift.sets_used, last: day(lift.last), learned: num(Math.round(lift.learned * 100)) })} />
          <Fact head={t('trend')} value={`${fixed(lift.trend_pct_per_week.median, 1)} % (${range(lift.trend_pct_per_week.lo80, lift.trend_pct_per_week.hi80, 1)}) ${t('a.week')}`}
            why={lift.why?.trend} name={name} />
          <Fact head={t('endurance')} value={t('endurance.is', { value: withRange(lift.reps_at_80, 0) })} why={lift.why?.endurance} name={name} />
          <Fact head={t('fatigability')} value={t('fatigability.is', {
            second: withRange(lift.fatigability, 1), fourth: withRange(lift.fatigability_set4, 1), rest: clock(lift.usual_rest_s),
          })} why={lift.why?.fatigability} name={name}
            rest={t('learned.share', { learned: num(Math.round(lift.learned_fatigability * 100)) })} />
        </tbody>
      </table>
      <WhatIf lifter={lifter} lift={lift} unit={unit} />
    </>
  );
}

function Fact({ head, value, why, rest, name }: { head: string; value: string; why?: string; rest?: string; name: string }) {
  return (
    <tr>
      <th scope="row" class="soft">{head}</th>
      <td>
        <span class="figures">{value}</span>{' '}
        {(why || rest) && (
          <Why of={`${name}, ${head}`}>
            {why && <Said as="p" of={why} />}
            {rest && <p>{rest}</p>}
          </Why>
        )}
      </td>
    </tr>
  );
}

// What planned sets would find: endurance and fatigability, drawn.
function WhatIf({ lifter, lift, unit }: { lifter: string; lift: LiftEstimate; unit: 'kg' | 'lb' }) {
  const written = (lift.strength_kg.median * 0.8 - (lift.body_mass_part ?? 0)) / (lift.multiplier || 1);
  const inU = lift.marks ? written : inUnit(written, unit);
  const step = unit === 'lb' && !lift.marks ? 5 : 2.5;
  const [amount, setAmount] = useState(String(Math.max(0, Math.round(inU / step) * step)));
  const [reps, setReps] = useState(Array(4).fill(Math.max(1, Math.round(lift.reps_at_80.median) - 2)).join(' '));
  const [rest, setRest] = useState(String(Math.round(lift.usual_rest_s || 120)));
  const value = readNumber(amount);
  const list = reps.split(/[\s,;]+/).filter(Boolean).map(Number);
  const seconds = readNumber(rest);
  const good = value !== undefined && seconds !== undefined && seconds >= 0 && list.length > 0 && list.length <= 10 && list.every((n) => Number.isInteger(n) && n >= 0 && n <= 100);
  const key = good ? `${value}|${list.join()}|${seconds}` : '';
  const { data, error } = useAsk(
    () =>
      key
        ? ask('POST /api/lifters/{lifter}/forecast', {
            path: { lifter },
            body: { exercise: lift.exercise, side: lift.side, load: { amount: value!, unit: lift.marks ? 'mark' : unit }, reps: list, rest_s: seconds },
          })
        : Promise.resolve(undefined),
    key,
  );
  return (
    <>
      <h2>{t('whatif.title')}</h2>
      <div class="fields three">
        <label class="field"><span>{t('load')} ({lift.marks ? t('unit.mark') : unit})</span>
          <input inputMode="decimal" value={amount} onInput={(e) => setAmount(e.currentTarget.value)} aria-invalid={value === undefined} /></label>
        <label class="field"><span>{t('whatif.reps')}</span>
          <input value={reps} onInput={(e) => setReps(e.currentTarget.value)} aria-invalid={!list.length || !list.every(Number.isInteger)} /></label>
        <label class="field"><span>{t('whatif.rest')}</span>
          <input inputMode="numeric" value={rest} onInput={(e) => setRest(e.currentTarget.value)} aria-invalid={seconds === undefined} /></label>
      </div>
      {error !== undefined && <Failure error={error} />}
      {data && (
        <>
          <Vessels table label={t('whatif.picture', { load: load(data.load) })} width={Math.max(328, data.sets.length * 76)} height={120}
            sets={data.sets.map((s, i) => ({ planned: s.reps, capacity: s.capacity, caption: t('set.number', { n: i + 1 }) }))} legend />
          <p class="small soft">
            {t('whatif.leaves', {
              list: data.sets.map((s) => `${fixed(Math.max(0, s.reserve.median), 0)} (${range(Math.max(0, s.reserve.lo80), Math.max(0, s.reserve.hi80), 0)})`).join(', '),
              p: chance(data.sets.at(-1)!.p_complete),
            })}
            {data.outside_seen ? ` ${t('whatif.outside')}` : ''}
          </p>
        </>
      )}
    </>
  );
}

function JudgementPart({ data }: { data: Estimate }) {
  const j = data.judgement;
  const at = j.at_called.find((a) => a.called === 2) ?? j.at_called[1] ?? j.at_called[0];
  if (!at) return null;
  const title = t('judgement.title', { called: num(at.called), has: num(Math.round(at.true_reserve.median * 10) / 10, 1) });
  return (
    <div>
      <h2>{title}</h2>
      <JudgementPicture label={title}
        points={j.at_called.map((a) => ({ called: a.called, has: a.true_reserve, sets: j.calls?.filter((c) => Number.parseFloat(c.called) === a.called).reduce((n, c) => n + c.sets, 0) }))} />
      <p>
        {t(j.bias_reps.median >= 0 ? 'bias.more' : 'bias.less', { n: fixed(Math.abs(j.bias_reps.median), 1), range: range(j.bias_reps.lo80, j.bias_reps.hi80, 1) })}{' '}
        <Why of={title}>
          {j.why && <Said as="p" of={j.why} />}
          <p>{t('learned.share', { learned: num(Math.round(j.learned * 100)) })}</p>
        </Why>
      </p>
    </div>
  );
}

function AllLifts({ data, unit, choose }: { data: Estimate; unit: 'kg' | 'lb'; choose: (key: string) => void }) {
  const trends = data.exercises.map((l) => l.trend_pct_per_week);
  const lo = Math.min(-0.5, ...trends.map((x) => x.lo80));
  const hi = Math.max(0.5, ...trends.map((x) => x.hi80));
  return (
    <>
      <h2>{t('lifts.all', { n: data.exercises.length })}</h2>
      <div class="table-scroll" tabIndex={0} role="region" aria-label={t('lifts.all', { n: data.exercises.length })}>
        <table class="numeric">
          <thead>
            <tr>
              <th scope="col">{t('exercise')}</th>
              <th scope="col">{t('strength')}</th>
              <th scope="col">{t('trend.column')}</th>
              <th scope="col">{t('endurance.column')}</th>
              <th scope="col">{t('lifts.sets')}</th>
              <th scope="col">{t('lifts.last')}</th>
            </tr>
          </thead>
          <tbody>
            {data.exercises.map((l) => (
              <tr key={l.exercise + l.side}>
                <th scope="row"><button type="button" class="plain start name-cell" onClick={() => choose(`${l.exercise}/${l.side}`)}>{nameOf(l)}</button></th>
                <td>{withRange(l.marks ? l.strength_kg : intervalIn(l.strength_kg, unit), 0, l.marks ? t('unit.mark') : unit)}</td>
                <td><Whisker i={l.trend_pct_per_week} lo={lo} hi={hi} label={`${fixed(l.trend_pct_per_week.median, 1)} % (${range(l.trend_pct_per_week.lo80, l.trend_pct_per_week.hi80, 1)})`} /></td>
                <td>{withRange(l.reps_at_80, 0)}</td>
                <td>{num(l.sets_used)}{l.assumed ? ` · ${t('assumed.short')}` : ''}</td>
                <td>{day(l.last)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
}

function Doubts({ data, id }: { data: Estimate; id: string }) {
  if (!data.suspects.length && !data.remarks.length) return null;
  return (
    <>
      <h2>{t('doubts.title')}</h2>
      {data.suspects.map((s) => (
        <Notice key={s.id} title={`${s.name ?? s.exercise}, ${day(s.date)}: ${load(s.load)} × ${s.reps}`}>
          <Said as="p" of={s.reason} />
          <p><a href={`${link('lifter', id, 'log')}?exercise=${encodeURIComponent(s.exercise)}`}>{t('doubts.look')}</a></p>
        </Notice>
      ))}
      {data.remarks.map((r, i) => <Said key={i} as="p" class="serif" of={r} />)}
    </>
  );
}
export type { PlanSet };

// Two or three ways to train an exercise, side by side: their sets as vessels, what they bring and cost with intervals.
import { useId, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { Comparison, CompareWish, ComparedWay, LifterPage } from '../api/types';
import { scale } from '../design/Chart';
import { Choice, Empty, Failure, Loading, Notice, Said, SaidList, TextField } from '../design/parts';
import { Table } from '../design/Table';
import { Vessels, tallest, type VesselSet } from '../design/Vessel';
import { useWidth } from '../design/width';
import { chance, fixed, load, num, range, readNumber } from '../format';
import { t } from '../text';
import { sayText } from '../text/said';
import { useAsk } from '../use';
import { FitNow } from './fit';

const ways = (): [string, string][] => [
  ['failure', t('compare.failure')],
  ['last-failure', t('compare.last')],
  ...[1, 2, 3, 4, 5].map((n): [string, string] => [`reserve:${n}`, t('compare.reserve', { n })]),
];
const wayText = (key: string) => ways().find(([k]) => k === key)?.[1] ?? key;

export function ComparePart({ page, version }: { page: LifterPage; version: number }) {
  const id = page.profile.id;
  const estimate = useAsk(() => ask('GET /api/lifters/{lifter}/estimate', { path: { lifter: id } }), `${id}|${version}`);
  const [average, setAverage] = useState(false);
  const [exercise, setExercise] = useState('');
  const [chosen, setChosen] = useState(['failure', 'reserve:2', '']);
  const [equal, setEqual] = useState<NonNullable<CompareWish['equal']>>('sets');
  const [sets, setSets] = useState('3');
  const [weight, setWeight] = useState('');
  const [rest, setRest] = useState('');
  const [answer, setAnswer] = useState<Comparison>();
  const [error, setError] = useState<unknown>();
  const [busy, setBusy] = useState(false);
  if (estimate.error instanceof Refusal && estimate.error.code === 'not_fitted' && page.sets) return <FitNow lifter={id} done={estimate.again} />;
  if (!page.sets) return <Empty title={t('compare.none')} />;
  if (!estimate.data) return estimate.error ? <Failure error={estimate.error} again={estimate.again} /> : <Loading />;
  const lifts = estimate.data.exercises;
  if (!lifts.length) return <Empty title={t('compare.none')} />;
  const key = (l: (typeof lifts)[number]) => `${l.exercise}/${l.side}`;
  const lift = lifts.find((l) => key(l) === exercise) ?? lifts[0]!;
  const unit = lift.marks ? 'mark' : page.profile.unit;
  const n = readNumber(sets);
  const w = weight ? readNumber(weight) : undefined;
  const r = rest ? readNumber(rest) : undefined;
  const faults = {
    sets: n === undefined || !Number.isInteger(n) || n < 1 || n > 12 ? t('plan.whole.fault', { from: 1, to: 12 }) : undefined,
    load: weight && average && !(w! >= 30 && w! <= 95) ? t('compare.share.fault') : weight && w === undefined ? t('fault.number') : undefined,
    rest: rest && !(r! >= 10 && r! <= 1800) ? t('compare.rest.fault') : undefined,
  };
  const strategies = [...new Set(chosen.filter(Boolean))];
  const bad = Object.values(faults).some(Boolean) || strategies.length < 2;
  const show = async () => {
    setBusy(true);
    try {
      setAnswer(await ask('POST /api/lifters/{lifter}/compare', {
        path: { lifter: id },
        body: { exercise: lift.exercise, side: lift.side, strategies, equal, sets: n!, ...(average ? { average } : {}), ...(w === undefined ? {} : average ? { share: w / 100 } : { load: { amount: w, unit } }), ...(r === undefined ? {} : { rest_s: r }) },
      }));
      setError(undefined);
    } catch (e) {
      if (e instanceof Refusal && e.code === 'not_fitted') estimate.again();
      setError(e);
    }
    setBusy(false);
  };
  return (
    <>
      <p class="lead">{t('compare.text')}</p>
      <form onSubmit={(e) => (e.preventDefault(), !bad && !busy && void show())}>
        <div class="fields many">
          <Choice label={t('compare.who')} value={average ? 'average' : ''} set={(v) => (setAverage(v === 'average'), setWeight(''))}
            options={[['', page.profile.lifter], ['average', t('compare.average')]]} />
          <Choice label={t('exercise')} value={key(lift)} set={setExercise}
            options={lifts.map((l): [string, string] => [key(l), l.side === 'both' ? l.name : `${l.name}, ${t(l.side === 'left' ? 'side.left' : 'side.right')}`])} />
          {chosen.map((way, i) => (
            <Choice key={i} label={t('compare.way', { n: i + 1 })} value={way} set={(v) => setChosen(chosen.map((x, j) => (j === i ? v : x)))}
              options={i === 2 ? [['', t('compare.third')], ...ways()] : ways()} />
          ))}
          <Choice label={t('compare.equal')} value={equal} set={(v) => setEqual(v as typeof equal)}
            options={[['sets', t('compare.sets')], ['volume', t('compare.volume')], ['minutes', t('compare.minutes')]]} />
          <TextField label={t('compare.number')} inputMode="numeric" value={sets} set={setSets} fault={faults.sets} />
          <TextField label={average ? t('compare.load.share') : t('compare.load', { unit: unit === 'mark' ? t('unit.mark') : unit })} hint={t('compare.load.hint')} inputMode="decimal" value={weight} set={setWeight} fault={faults.load} />
          <TextField label={t('compare.rest')} hint={t('compare.rest.hint')} inputMode="numeric" value={rest} set={setRest} fault={faults.rest} />
        </div>
        {strategies.length < 2 && <p class="fault">{t('compare.two')}</p>}
        <div class="actions"><button type="submit" class="first" disabled={bad || busy}>{t('compare.show')}</button></div>
      </form>
      {error !== undefined && <Failure error={error} />}
      {answer && <Answer c={answer} />}
    </>
  );
}

type Span = ComparedWay['total_reps'];
interface Measured {
  head: string;
  digits: number;
  of: (w: ComparedWay) => Span;
  less?: (w: ComparedWay) => Span | undefined; // less the first way
}
// Natural logarithms to per cent lost.
const lost = (v: number) => -100 * Math.expm1(-v);
const percent = (s: Span): Span => ({ ...s, median: lost(s.median), lo80: lost(s.lo80), hi80: lost(s.hi80), mean: lost(s.mean) });
function measures(c: Comparison): Measured[] {
  return [
    { head: t('compare.reps'), digits: 0, of: (w) => w.total_reps, less: (w) => w.against_first?.total_reps },
    { head: t('compare.hard'), digits: 1, of: (w) => w.hard_sets, less: (w) => w.against_first?.hard_sets },
    ...c.readings.map((r): Measured => ({ head: t('compare.stimulus', { reading: sayText(r) }), digits: 1, of: (w) => w.stimulus[r]!, less: (w) => w.against_first?.stimulus[r] })),
    { head: t('compare.end'), digits: 1, of: (w) => percent(w.margin_lost_end), less: (w) => w.against_first && percent(w.against_first.margin_lost_end) },
    { head: t('compare.day'), digits: 1, of: (w) => percent(w.residual_24h), less: (w) => w.against_first && percent(w.against_first.residual_24h) },
  ];
}
// What is counted is told by its mean, what is measured by its middle: a count's middle jumps.
const text = (s: Span, digits: number) => `${fixed(digits ? s.median : s.mean, digits)} (${range(s.lo80, s.hi80, digits)})`;
const signed = (s: Span, digits: number) => `${s.median > 0 ? '+' : ''}${text(s, digits)}`;

function Answer({ c }: { c: Comparison }) {
  const rows = c.strategies.map((w) => w.sets.map((s): VesselSet => ({
    planned: Math.round(s.reps.median), capacity: s.capacity,
    caption: s.share < 1 ? t('compare.share', { p: num(100 * s.share, 0) }) : undefined,
  })));
  const most = tallest(rows.flat());
  const all = measures(c);
  return (
    <section>
      {c.lifter === null && <p class="small soft">{t('compare.average.text')}</p>}
      <div role="status"><Said as="h2" of={c.finding} /></div>
      {c.lifter !== null && !c.known && <Notice>{t('compare.unknown')}</Notice>}
      <div class="ways">
        {c.strategies.map((w, i) => (
          <div key={w.name}>
            <h3>{wayText(w.name)}</h3>
            <p class="small soft">
              {t('compare.at', { sets: num(w.set_count, 1), load: w.load ? load(w.load) : '–', share: num(100 * w.share_of_strength, 0), minutes: num(w.minutes, 0) })}
              {!w.reached && ` ${t('compare.short')}`}
            </p>
            <Vessels sets={rows[i]!} label={wayText(w.name)} height={120} width={Math.max(160, rows[i]!.length * 76)} scale={most} table />
          </div>
        ))}
      </div>
      <p class="small soft">{t('vessel.legend')}</p>
      <ComparePicture c={c} all={all} />
      {c.cautions.length > 0 && <SaidList class="small" list={c.cautions} />}
    </section>
  );
}

// Each measure on a scale of its own, the ways one below the other.
function ComparePicture({ c, all }: { c: Comparison; all: Measured[] }) {
  const id = useId().replace(/[^A-Za-z0-9]/g, '');
  const { ref, width: W } = useWidth(760);
  const line = 22;
  const gap = 34;
  const each = gap + c.strategies.length * line;
  const narrow = W < 560;
  const left = narrow ? 8 : 220;
  const right = W - 118;
  const step = narrow ? line + 16 : line;
  const block = narrow ? gap + c.strategies.length * step : each;
  const H = all.length * block + 8;
  const label = t('compare.table');
  return (
    <figure ref={ref}>
      <svg class="chart" viewBox={`0 0 ${W} ${H}`} width={W} height={H} role="img" aria-labelledby={`${id}t ${id}d`}>
        <title id={`${id}t`}>{label}</title>
        <desc id={`${id}d`}>{all.map((m) => `${m.head}: ${c.strategies.map((w) => `${wayText(w.name)} ${text(m.of(w), m.digits)}`).join('; ')}`).join('. ')}</desc>
        {all.map((m, k) => {
          const top = k * block + 18;
          const spans = c.strategies.map(m.of);
          const x = scale([Math.min(0, ...spans.map((s) => s.lo80)), Math.max(...spans.map((s) => s.hi80), 1e-9)], [left, right]);
          return (
            <g key={m.head}>
              <text class="measure" x={0} y={top}>{m.head}</text>
              <path class="grid" d={`M${left} ${top + 8} V${top + c.strategies.length * step + 4}`} />
              {c.strategies.map((w, i) => {
                const s = m.of(w);
                const y = top + 8 + i * step + (narrow ? 26 : 12);
                return (
                  <g key={w.name}>
                    <text x={narrow ? left : 0} y={narrow ? y - 13 : y + 4}>{wayText(w.name)}</text>
                    <path class="whisker" d={`M${x(s.lo80).toFixed(1)} ${y} H${Math.max(x(s.hi80), x(s.lo80) + 1).toFixed(1)}`} />
                    <circle class="point" cx={x(m.digits ? s.median : s.mean)} cy={y} r="4" />
                    <text x={right + 10} y={y + 4}>{text(s, m.digits)}</text>
                  </g>
                );
              })}
            </g>
          );
        })}
      </svg>
      <figcaption class="legend">{t('compare.legend')}</figcaption>
      <details class="as-table">
        <summary>{t('as.table')}</summary>
        <Table caption={label} columns={[t('compare.what'), ...c.strategies.map((w) => wayText(w.name)), ...c.strategies.slice(1).map((w) => t('compare.less', { way: wayText(w.name), first: wayText(c.strategies[0]!.name) }))]}
          rows={[
            ...all.map((m) => [m.head, ...c.strategies.map((w) => text(m.of(w), m.digits)), ...c.strategies.slice(1).map((w) => { const d = m.less?.(w); return d ? signed(d, m.digits) : '–'; })]),
            [t('compare.time'), ...c.strategies.map((w) => num(w.minutes, 1)), ...c.strategies.slice(1).map((w) => (w.against_first ? num(w.against_first.minutes, 1) : '–'))],
            [t('compare.miss'), ...c.strategies.map((w) => chance(w.p_miss)), ...c.strategies.slice(1).map(() => '–')],
          ]} />
      </details>
    </figure>
  );
}

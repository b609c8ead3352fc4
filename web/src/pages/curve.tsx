// What fatigue buys: effect of a week against strength lost, for rising prices of fatigue, and a handle that walks along
// the curve and shows the weeks each price would ask for.
import { useId, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { BlockCurve, BlockWish, Blocks, KeptBlock } from '../api/types';
import { scale, steps } from '../design/Chart';
import { Failure, Field, Loading } from '../design/parts';
import { Table } from '../design/Table';
import { useWidth } from '../design/width';
import { num } from '../format';
import { t } from '../text';
import { sayText } from '../text/said';
import { useAsk } from '../use';
import { begin, stopWork, useWork } from '../work';
import { Grid } from './plan-sheet';

interface CurveProps {
  data: Blocks;
  kept: KeptBlock;
  week: number;
  busy: boolean;
  plan: (wish: BlockWish) => Promise<void>;
}
export function CurvePart({ data, kept, week, busy, plan }: CurveProps) {
  const id = data.id;
  const work = `curve ${id}`;
  const { data: curve, error, again } = useAsk(() => ask('GET /api/lifters/{lifter}/blocks/curve', { path: { lifter: id } }), `${id}|${kept.number}|${JSON.stringify(kept.block.weeks)}`);
  const [failed, setFailed] = useState<unknown>();
  const [at, setAt] = useState<number>();
  const job = useWork(work, (ended) => {
    if (ended.state === 'failed') setFailed(new Error((ended.error as { message?: string } | null)?.message ?? t('plan.failed')));
    else again();
  });
  const draw = () => {
    setFailed(undefined);
    void begin(work, ask('POST /api/lifters/{lifter}/blocks/curve', { path: { lifter: id }, body: { watched: true } })).catch(setFailed);
  };
  const missing = error instanceof Refusal && error.status === 404;
  const here = curve && curve.number === kept.number && !missing ? curve : undefined;
  const usual = here ? Math.max(0, here.points.findIndex((p) => Math.abs(p.price - here.plan.price) < 1e-9)) : 0;
  const point = at === undefined ? undefined : Math.min(at, (here?.points.length ?? 1) - 1);
  return (
    <section class="curve">
      <h3>{t('plan.curve')}</h3>
      {failed !== undefined && <Failure error={failed} />}
      {error !== undefined && !missing && <Failure error={error} again={again} />}
      {job?.state === 'running' ? (
        <div class="line">
          <span role="status" class="serif">{t('plan.curve.working')}</span>
          <progress max={1} value={job.progress} aria-label={t('plan.curve.working')} />
          <button type="button" onClick={() => stopWork(work, true)}>{t('plan.drop')}</button>
        </div>
      ) : (
        (!here || !here.current) && (
          <p class="serif">
            {t(here ? 'plan.curve.old' : 'plan.curve.none')} <button type="button" disabled={busy} onClick={draw}>{t('plan.curve.draw')}</button>
          </p>
        )
      )}
      {here && !here.points.length && <p class="serif">{t('plan.curve.empty')}</p>}
      {here && here.points.length > 0 && (
        <>
          <CurvePicture curve={here} at={point} set={setAt} />
          <Handle curve={here} at={point ?? usual} set={setAt} />
          {point !== undefined && (
            <AtPrice key={`${kept.number}/${point}`} id={id} curve={here} point={point} week={week} today={data.today} close={() => setAt(undefined)} busy={busy}
              plan={() => void plan({ request: kept.block.request, price: here.points[point]!.price })} />
          )}
        </>
      )}
    </section>
  );
}

function priceText(curve: BlockCurve, i: number): string {
  const p = curve.points[i]!;
  const times = curve.plan.price > 0 ? p.price / curve.plan.price : 0;
  return times === 0 ? t('plan.price.free') : Math.abs(times - 1) < 1e-9 ? t('plan.price.this') : t('plan.price.times', { n: num(times, 2) });
}
function pointText(curve: BlockCurve, i: number): string {
  const p = curve.points[i]!;
  return t('plan.price.point', {
    price: priceText(curve, i), sets: num(p.figures.sets, 0), reserve: num(p.figures.reserve, 1), failure: num(p.figures.failure_sets, 1),
    lost: num(p.fatigue_pct, 0), effects: p.effect.map((e, r) => `${num(e, 1)} (${sayText(curve.readings[r] ?? '')})`).join(', '),
  });
}

function Handle({ curve, at, set }: { curve: BlockCurve; at: number; set: (i: number) => void }) {
  return (
    <div class="fields no-print">
      <Field label={t('plan.price')} hint={t('plan.price.hint')}>
        {(a) => (
          <input {...a} class="handle" type="range" min={0} max={curve.points.length - 1} step={1} value={at} aria-valuetext={pointText(curve, at)}
            onInput={(e) => set(Number(e.currentTarget.value))} />
        )}
      </Field>
    </div>
  );
}

function AtPrice({ id, curve, point, week, today, close, busy, plan }: { id: string; curve: BlockCurve; point: number; week: number; today: string; close: () => void; busy: boolean; plan: () => void }) {
  const { data, error } = useAsk(() => ask('GET /api/lifters/{lifter}/blocks/curve/{point}', { path: { lifter: id, point } }), `${id}|${curve.number}|${point}`);
  const w = data?.weeks[week];
  return (
    <div class="at-price">
      <p class="serif" role="status">{pointText(curve, point)}</p>
      <div class="actions no-print">
        <button type="button" disabled={busy} onClick={plan}>{t('plan.at.price')}</button>
        <button type="button" onClick={close}>{t('plan.at.close')}</button>
      </div>
      {error !== undefined ? <Failure error={error} /> : !w ? <Loading /> : (
        <>
          <h4>{t('plan.at.week', { n: week + 1, price: priceText(curve, point) })}</h4>
          <Grid week={w} number={week + 1} today={today} label={t('plan.at.week', { n: week + 1, price: priceText(curve, point) })} />
        </>
      )}
    </div>
  );
}

export function CurvePicture({ curve, at, set }: { curve: BlockCurve; at?: number; set?: (i: number) => void }) {
  const id = useId().replace(/[^A-Za-z0-9]/g, '');
  const { ref, width: W } = useWidth(680);
  const H = 260;
  const all = [...curve.points, curve.plan, ...curve.corners];
  const xs = all.map((p) => p.fatigue_pct);
  const ys = all.flatMap((p) => p.effect);
  const low = Math.min(...ys);
  const high = Math.max(...ys);
  const room = Math.max((high - low) * 0.12, high * 0.02);
  const x = scale([0, Math.max(...xs) * 1.05], [44, W - 14]);
  const y = scale([Math.max(0, low - room), high + room], [H - 44, 12]);
  const ordered = [...curve.points].sort((a, b) => a.fatigue_pct - b.fatigue_pct);
  const name = (corner: string) => t(corner === 'very easy' ? 'plan.easy' : 'plan.failure');
  const chosen = at === undefined ? undefined : curve.points[at];
  return (
    <figure ref={ref}>
      <svg class="chart" viewBox={`0 0 ${W} ${H}`} width={W} height={H} role="img" aria-labelledby={`${id}t ${id}d`}>
        <title id={`${id}t`}>{t('plan.curve')}</title>
        <desc id={`${id}d`}>{t('plan.curve.say', { lost: num(curve.plan.fatigue_pct, 0), effects: curve.plan.effect.map((e, i) => `${num(e, 1)} (${sayText(curve.readings[i] ?? '')})`).join(', ') })}</desc>
        {steps(Math.max(0, low - room), high + room, 4).map((v) => (
          <g key={v}>
            <path class="grid" d={`M44 ${y(v).toFixed(1)} H${W - 14}`} />
            <text class="axis-end" x={38} y={y(v) + 4}>{num(v, 2)}</text>
          </g>
        ))}
        {steps(0, Math.max(...xs), W < 480 ? 3 : 6).map((v) => (
          <text key={v} class="axis-middle" x={x(v)} y={H - 26}>{num(v, 0)}</text>
        ))}
        <text class="axis-end" x={W - 14} y={H - 6}>{t('plan.lost.axis')}</text>
        {curve.readings.map((r, i) => (
          <path key={r} class={`middle reading-${i % 3}`} d={`M${ordered.map((p) => `${x(p.fatigue_pct).toFixed(1)} ${y(p.effect[i]!).toFixed(1)}`).join(' L')}`} />
        ))}
        {curve.readings.map((r, i) => (
          <g key={`${r}p`}>
            {curve.points.map((p, k) => (
              <circle key={k} class="price-dot" cx={x(p.fatigue_pct)} cy={y(p.effect[i]!)} r="4" onClick={() => set?.(k)} />
            ))}
            <circle class="here" cx={x(curve.plan.fatigue_pct)} cy={y(curve.plan.effect[i]!)} r="5.5" />
            {curve.corners.map((c) => <path key={c.name} class="corner" d={`M${x(c.fatigue_pct) - 4} ${y(c.effect[i]!) - 4} l8 8 m0 -8 l-8 8`} />)}
            {chosen && <circle class="chosen" cx={x(chosen.fatigue_pct)} cy={y(chosen.effect[i]!)} r="9" />}
          </g>
        ))}
        {curve.corners.map((c) => {
          const left = x(c.fatigue_pct) > W / 2;
          return <text key={c.name} class={left ? 'axis-end' : ''} x={x(c.fatigue_pct) + (left ? -9 : 9)} y={Math.max(...c.effect.map((e) => y(e))) + 18}>{name(c.name)}</text>;
        })}
      </svg>
      <figcaption class="legend">{t('plan.curve.legend', { first: sayText(curve.readings[0] ?? ''), others: curve.readings.slice(1).map(sayText).join(', ') || '–' })}</figcaption>
      <details class="as-table">
        <summary>{t('as.table')}</summary>
        <Table caption={t('plan.curve')} columns={[t('plan.price'), t('plan.lost.axis'), t('plan.sets.week'), t('plan.reserve'), ...curve.readings.map((r) => `${t('plan.effect')}, ${sayText(r)}`)]}
          rows={[
            ...curve.points.map((p, i) => [priceText(curve, i), num(p.fatigue_pct, 0), num(p.figures.sets, 0), num(p.figures.reserve, 1), ...p.effect.map((e) => num(e, 2))]),
            [t('plan.this'), num(curve.plan.fatigue_pct, 0), num(curve.plan.figures.sets, 0), num(curve.plan.figures.reserve, 1), ...curve.plan.effect.map((e) => num(e, 2))],
            ...curve.corners.map((c) => [name(c.name), num(c.fatigue_pct, 0), '–', c.name === 'very easy' ? '6' : '0', ...c.effect.map((e) => num(e, 2))]),
          ]} />
      </details>
    </figure>
  );
}

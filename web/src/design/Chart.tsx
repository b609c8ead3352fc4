// Pictures with axes: strength over time with its band and the sets it rests on, and judgement of reserve. Each is an
// SVG with a title and a description, and offers the same as a table.
import type { ComponentChildren } from 'preact';
import { useId } from 'preact/hooks';
import type { Interval } from '../api/types';
import { day, fixed, num, range } from '../format';
import { t } from '../text';
import { AsTable, Table } from './Table';
import { useWidth } from './width';

// Round steps that cover lo..hi with about `most` lines.
export function steps(lo: number, hi: number, most: number): number[] {
  if (!(hi > lo)) return [lo];
  const span = hi - lo;
  const rough = span / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= rough) ?? 10 * power;
  const out: number[] = [];
  for (let v = Math.ceil(lo / step - 1e-9) * step; v <= hi + 1e-9; v += step) out.push(Number(v.toFixed(10)));
  return out;
}
export const scale = (from: [number, number], to: [number, number]) => (v: number) =>
  from[1] === from[0] ? (to[0] + to[1]) / 2 : to[0] + ((v - from[0]) / (from[1] - from[0])) * (to[1] - to[0]);
const dayNumber = (iso: string) => Date.parse(`${iso.slice(0, 10)}T00:00Z`) / 86400000;
const isoOf = (n: number) => new Date(n * 86400000).toISOString().slice(0, 10);

export interface StrengthProps {
  label: string;
  unit: string;
  line: { date: string; median: number; lo80: number; hi80: number }[];
  dots: { date: string; value: number; atLeast?: boolean; aside?: boolean; text: string }[];
  table?: boolean;
}
export function StrengthPicture({ label, unit, line, dots, table = true }: StrengthProps) {
  const id = useId().replace(/[^A-Za-z0-9]/g, '');
  const { ref, width: W } = useWidth(680);
  if (!line.length) return null;
  const H = W < 480 ? 220 : 240;
  const left = 40;
  const right = 48;
  const bottom = H - 26;
  const days = line.map((p) => dayNumber(p.date));
  const from = Math.min(...days);
  const to = Math.max(...days, from + 7);
  // Set readings far off the band would flatten it: they are drawn at the edge and stand in the table as they are.
  const lo = Math.min(...line.map((p) => p.lo80));
  const hi = Math.max(...line.map((p) => p.hi80));
  const room = Math.max(hi - lo, hi * 0.04);
  const low = lo - room * 0.25;
  const high = hi + room * 0.25;
  const x = scale([from, to], [left, W - right]);
  const y = scale([low, high], [bottom, 8]);
  const at = (d: number, v: number) => `${x(d).toFixed(1)} ${y(v).toFixed(1)}`;
  const band = `M${line.map((p, i) => at(days[i]!, p.hi80)).join(' L')} L${line.map((p, i) => at(days[i]!, p.lo80)).reverse().join(' L')} Z`;
  const middle = `M${line.map((p, i) => at(days[i]!, p.median)).join(' L')}`;
  // Some thousand readings are one path, not as many elements: a triangle where the lifter had at least that much.
  const dotOf = (d: StrengthProps['dots'][number], aside: boolean) => {
    const cy = Math.max(8, Math.min(bottom, y(d.value)));
    const cx = x(dayNumber(d.date));
    if (cx < left - 1 || aside !== (!d.atLeast && !!d.aside)) return '';
    return d.atLeast ? `M${(cx - 2.5).toFixed(1)} ${(cy + 2).toFixed(1)}h5l-2.5-5z` : `M${(cx - 2.3).toFixed(1)} ${cy.toFixed(1)}a2.3 2.3 0 1 0 4.6 0a2.3 2.3 0 1 0-4.6 0z`;
  };
  const last = line.at(-1)!;
  const first = line[0]!;
  const marks = (W < 480 ? [0, 1] : [0, 1 / 3, 2 / 3, 1]).map((f) => Math.round(from + f * (to - from)));
  return (
    <figure ref={ref}>
      <svg class="chart" viewBox={`0 0 ${W} ${H}`} width={W} height={H} role="img" aria-labelledby={`${id}t ${id}d`}>
        <title id={`${id}t`}>{label}</title>
        <desc id={`${id}d`}>
          {t('strength.say', {
            first: `${fixed(first.median, 0)} ${unit} (${range(first.lo80, first.hi80, 0)})`,
            from: day(first.date),
            last: `${fixed(last.median, 0)} ${unit} (${range(last.lo80, last.hi80, 0)})`,
            to: day(last.date),
            n: dots.length,
          })}
        </desc>
        {steps(low, high, 5).map((v) => (
          <g key={v}>
            <path class="grid" d={`M${left} ${y(v).toFixed(1)} H${W - right}`} />
            <text class="axis-end" x={left - 6} y={y(v) + 4}>{num(v, 1)}</text>
          </g>
        ))}
        {marks.map((m, i) => (
          <text key={i} class={i === 0 ? '' : i === marks.length - 1 ? 'axis-end' : 'axis-middle'} x={x(m)} y={H - 6}>{day(isoOf(m))}</text>
        ))}
        <path class="band" d={band} />
        {(['', ' set-aside'] as const).map((kind) => (
          <path key={kind} class={`dot${kind}`} d={dots.map((d) => dotOf(d, kind !== '')).join('')} />
        ))}
        <path class="middle" d={middle} />
        <text class="end" x={W - right + 8} y={y(last.median) + 5}>{fixed(last.median, 0)}</text>
      </svg>
      <figcaption class="legend">{t('strength.legend')}</figcaption>
      {table && (
        <AsTable of={() => (
          <Table caption={label} columns={[t('date'), t('strength'), t('interval80')]}
            rows={[...line].reverse().map((p) => [day(p.date), `${fixed(p.median, 1)} ${unit}`, range(p.lo80, p.hi80, 1)])} />
        )} />
      )}
    </figure>
  );
}

export function JudgementPicture({ label, points }: { label: string; points: { called: number; has: Interval; sets?: number }[] }) {
  const id = useId().replace(/[^A-Za-z0-9]/g, '');
  const W = 320;
  const H = 250;
  const left = 34;
  const top = Math.max(6, ...points.map((p) => Math.ceil(p.has.hi80)));
  const most = Math.max(5, ...points.map((p) => p.called));
  const x = scale([0, most], [left + 12, W - 24]);
  const y = scale([0, top], [H - 46, 10]);
  return (
    <figure>
      <svg class="chart" viewBox={`0 0 ${W} ${H}`} width={W} height={H} role="img" aria-labelledby={`${id}t ${id}d`}>
        <title id={`${id}t`}>{label}</title>
        <desc id={`${id}d`}>
          {points.map((p) => t('judgement.say', { called: num(p.called), has: `${fixed(p.has.median, 1)} (${range(p.has.lo80, p.has.hi80, 1)})` })).join('. ')}
        </desc>
        {steps(0, top, 6).map((v) => (
          <g key={v}>
            <path class="grid" d={`M${left} ${y(v)} H${W - 10}`} />
            <text class="axis-end" x={left - 6} y={y(v) + 4}>{num(v)}</text>
          </g>
        ))}
        <path class="agree" d={`M${x(0)} ${y(0)} L${x(Math.min(most, top))} ${y(Math.min(most, top))}`} />
        {points.map((p) => (
          <g key={p.called}>
            <path class="whisker" d={`M${x(p.called)} ${y(p.has.lo80)} V${y(p.has.hi80)}`} />
            <circle class="point" cx={x(p.called)} cy={y(p.has.median)} r="4.5" />
            <text class="axis-middle" x={x(p.called)} y={H - 28}>{num(p.called)}{p.called >= 5 ? '+' : ''}</text>
          </g>
        ))}
        <text class="axis-middle" x={(left + W) / 2} y={H - 8}>{t('judgement.axis')}</text>
      </svg>
      <figcaption class="legend">{t('judgement.legend')}</figcaption>
      <AsTable of={() => (
          <Table caption={label} columns={[t('called'), t('has'), t('interval80'), t('calls')]}
          rows={points.map((p) => [`${num(p.called)}${p.called >= 5 ? '+' : ''}`, fixed(p.has.median, 1), range(p.has.lo80, p.has.hi80, 1), p.sets === undefined ? '–' : num(p.sets)])} />
        )} />
    </figure>
  );
}

// A figure with its interval drawn beside it, on a scale shared by its neighbours.
export function Whisker({ i, lo, hi, label }: { i: Interval; lo: number; hi: number; label: ComponentChildren }) {
  const x = scale([lo, hi], [2, 118]);
  return (
    <span class="line">
      <span class="figures">{label}</span>
      <svg class="chart" viewBox="0 0 120 14" width="120" height="14" aria-hidden="true">
        <path class="whisker" d={`M${x(i.lo80)} 7 H${Math.max(x(i.hi80), x(i.lo80) + 1)}`} />
        <circle class="point" cx={x(i.median)} cy="7" r="4" />
      </svg>
    </span>
  );
}

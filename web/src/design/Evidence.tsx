// Pictures of pooled evidence: answers side by side, a forest, a funnel, a curve, and growth by reserve. Each says what it
// shows to those who hear the page, and offers its figures as a table.
import type { ComponentChildren } from 'preact';
import { useId } from 'preact/hooks';
import { fixed, num, range } from '../format';
import { t } from '../text';
import { scale, steps } from './Chart';
import { Table } from './Table';
import { useWidth } from './width';

export interface Line {
  name: string;
  mid: number;
  lo: number;
  hi: number;
  weight?: number; // 0 to 1: the size of the mark
  newLo?: number; // where a new study may lie
  newHi?: number;
  pooled?: boolean;
}
// "0.12 (−0.03 to 0.27)"
export const effect = (mid: number, lo: number, hi: number) => `${fixed(mid, 2)} (${range(lo, hi, 2)})`;

// Ends that hold nearly everything; the widest few end in arrows.
export function ends(lines: Line[]): [number, number] {
  const halves = lines.filter((l) => !l.pooled).map((l) => (l.hi - l.lo) / 2).sort((a, b) => a - b);
  const usual = halves.length > 6 ? halves[Math.floor(0.9 * (halves.length - 1))]! : Infinity;
  const all = [0, ...lines.flatMap((l) => (l.pooled ? [l.newLo ?? l.lo, l.newHi ?? l.hi, l.lo, l.hi] : [Math.max(l.lo, l.mid - usual), Math.min(l.hi, l.mid + usual)]))].filter(Number.isFinite);
  const lo = Math.min(...all);
  const hi = Math.max(...all);
  const pad = (hi - lo || 1) * 0.05;
  return [lo - pad, hi + pad];
}

function Frame({ id, label, say, W, H, children }: { id: string; label: string; say: string; W: number; H: number; children: ComponentChildren }) {
  return (
    <svg class="chart" viewBox={`0 0 ${W} ${H}`} width={W} height={H} role="img" aria-labelledby={`${id}t ${id}d`}>
      <title id={`${id}t`}>{label}</title>
      <desc id={`${id}d`}>{say}</desc>
      {children}
    </svg>
  );
}
const useOwnId = () => useId().replace(/[^A-Za-z0-9]/g, '');

interface LinesProps {
  label: string;
  say: string;
  lines: Line[];
  left: string; // what lies left of 0
  right: string;
  legend: string;
  ratio?: boolean; // figures are logs of ratios
}
export function LinesPicture({ label, say, lines, left, right, legend, ratio }: LinesProps) {
  const id = useOwnId();
  const { ref, width: W } = useWidth(760);
  const narrow = W < 560;
  const row = narrow ? 42 : 26;
  const from = narrow ? 6 : Math.min(230, W * 0.3);
  const to = narrow ? W - 6 : W - 150;
  const [lo, hi] = ends(lines);
  const x = scale([lo, hi], [from, to]);
  const inside = (v: number) => Math.max(from, Math.min(to, x(v)));
  const top = 24;
  const H = top + lines.length * row + 34;
  const shown = (v: number) => (ratio ? num(Math.exp(v), 2) : num(v, 2));
  const most = Math.max(8, Math.floor((narrow ? W * 0.6 : from - 12) / 7));
  const cut = (s: string) => (s.length > most ? `${s.slice(0, most - 1)}…` : s);
  return (
    <figure ref={ref}>
      <Frame id={id} label={label} say={say} W={W} H={H}>
        <text class={narrow ? '' : 'axis-end'} x={narrow ? from : Math.max(from + 40, x(0) - 8)} y={14}>{left}</text>
        <text class={narrow ? 'axis-end' : ''} x={narrow ? to : Math.min(to - 40, x(0) + 8)} y={14}>{right}</text>
        {steps(lo, hi, narrow ? 4 : 6).map((v) => (
          <g key={v}>
            <path class="grid" d={`M${x(v).toFixed(1)} ${top} V${H - 24}`} />
            <text class="axis-middle" x={x(v)} y={H - 8}>{shown(v)}</text>
          </g>
        ))}
        <path class="zero" d={`M${x(0).toFixed(1)} ${top} V${H - 24}`} />
        {lines.map((l, i) => {
          const y = top + row * i + (narrow ? 28 : row / 2);
          const size = 2.5 + 4 * Math.sqrt(l.weight ?? 0.5);
          const m = x(l.mid);
          return (
            <g key={i}>
              <text class={l.pooled ? 'strong' : ''} x={narrow ? from : 0} y={narrow ? y - 13 : y + 4}>{cut(l.name)}</text>
              <text class={`axis-end${l.pooled ? ' strong' : ''}`} x={W - (narrow ? 6 : 0)} y={narrow ? y - 13 : y + 4}>{effect(l.mid, l.lo, l.hi)}</text>
              {l.newLo !== undefined && l.newHi !== undefined && <rect class="new-study" x={inside(l.newLo)} y={y - 5} width={Math.max(1, inside(l.newHi) - inside(l.newLo))} height="10" />}
              <path class="whisker" d={`M${inside(l.lo).toFixed(1)} ${y} H${inside(l.hi).toFixed(1)}`} />
              {x(l.lo) < from && <path class="arrow" d={`M${from} ${y} l6 -3.5 v7 z`} />}
              {x(l.hi) > to && <path class="arrow" d={`M${to} ${y} l-6 -3.5 v7 z`} />}
              {m >= from && m <= to && (l.pooled ? <path class="pooled" d={`M${m - 7} ${y} L${m} ${y - 6} L${m + 7} ${y} L${m} ${y + 6}Z`} /> : <rect class="point" x={m - size / 2} y={y - size / 2} width={size} height={size} />)}
            </g>
          );
        })}
      </Frame>
      <figcaption class="legend">{legend}</figcaption>
      <details class="as-table">
        <summary>{t('as.table')}</summary>
        <Table caption={label} columns={[t('ev.study'), t('ev.effect'), t('ev.interval'), t('ev.new')]}
          rows={lines.map((l) => [l.name, fixed(l.mid, 2), range(l.lo, l.hi, 2), l.newLo !== undefined && l.newHi !== undefined ? range(l.newLo, l.newHi, 2) : '–'])} />
      </details>
    </figure>
  );
}

export function FunnelPicture({ label, say, points, middle }: { label: string; say: string; points: { label: string; effect: number; se: number }[]; middle: number }) {
  const id = useOwnId();
  const { ref, width: W } = useWidth(560);
  const H = 300;
  const errors = points.map((p) => p.se).sort((a, b) => a - b);
  const usual = errors[Math.floor(0.9 * (errors.length - 1))] ?? 1;
  const most = Math.max(...errors.filter((e) => e <= 2 * usual)) * 1.05;
  const xs = [middle - 1.96 * most, middle + 1.96 * most, ...points.filter((p) => p.se <= most).map((p) => p.effect)];
  const lo = Math.min(...xs);
  const hi = Math.max(...xs);
  const x = scale([lo, hi], [44, W - 12]);
  const y = scale([0, most], [16, H - 44]);
  return (
    <figure ref={ref}>
      <Frame id={id} label={label} say={say} W={W} H={H}>
        {steps(0, most, 4).map((v) => (
          <g key={v}>
            <path class="grid" d={`M44 ${y(v).toFixed(1)} H${W - 12}`} />
            <text class="axis-end" x={38} y={y(v) + 4}>{num(v, 2)}</text>
          </g>
        ))}
        {steps(lo, hi, W < 420 ? 4 : 6).map((v) => <text key={v} class="axis-middle" x={x(v)} y={H - 26}>{num(v, 2)}</text>)}
        <path class="cone" d={`M${x(middle).toFixed(1)} ${y(0)} L${x(middle - 1.96 * most).toFixed(1)} ${y(most)} H${x(middle + 1.96 * most).toFixed(1)}Z`} />
        <path class="middle" d={`M${x(middle).toFixed(1)} ${y(0)} V${y(most)}`} />
        {points.map((p, i) => <circle key={i} class="dot" cx={Math.max(44, Math.min(W - 12, x(p.effect))).toFixed(1)} cy={y(Math.min(p.se, most)).toFixed(1)} r="3.2" />)}
        <text class="axis-middle" x={(44 + W) / 2} y={H - 6}>{t('ev.effect')}</text>
      </Frame>
      <figcaption class="legend">{t('ev.funnel.legend')}</figcaption>
      <details class="as-table">
        <summary>{t('as.table')}</summary>
        <Table caption={label} columns={[t('ev.study'), t('ev.effect'), t('ev.se')]} rows={points.map((p) => [p.label, fixed(p.effect, 2), fixed(p.se, 2)])} />
      </details>
    </figure>
  );
}

export interface CurvePoint {
  x: number;
  mid: number;
  lo: number;
  hi: number;
  newLo?: number | null;
  newHi?: number | null;
}
interface CurveProps {
  label: string;
  say: string;
  curve: CurvePoint[];
  dots?: { x: number; y: number; weight: number; label: string }[];
  xName: string;
  yName: string;
  legend: string;
  base?: number; // a line to read against: 0, or 1 for a ratio
}
export function CurvePicture({ label, say, curve, dots = [], xName, yName, legend, base = 0 }: CurveProps) {
  const id = useOwnId();
  const { ref, width: W } = useWidth(680);
  if (!curve.length) return null;
  const H = W < 480 ? 260 : 300;
  const [left, right, bottom] = [46, 14, H - 44];
  const ys = [base, ...curve.flatMap((p) => [p.lo, p.hi]), ...dots.map((d) => d.y)].filter(Number.isFinite);
  const lo = Math.min(...ys);
  const hi = Math.max(...ys);
  const pad = (hi - lo || 1) * 0.05;
  const x = scale([curve[0]!.x, curve.at(-1)!.x], [left, W - right]);
  const y = scale([lo - pad, hi + pad], [bottom, 14]);
  const at = (v: number) => Math.max(6, Math.min(bottom, y(v))).toFixed(1);
  const path = (of: (p: CurvePoint) => number) => curve.map((p, i) => `${i ? 'L' : 'M'}${x(p.x).toFixed(1)} ${at(of(p))}`).join(' ');
  const back = (of: (p: CurvePoint) => number) => [...curve].reverse().map((p) => `L${x(p.x).toFixed(1)} ${at(of(p))}`).join(' ');
  const shown = curve.filter((_, i) => i % Math.max(1, Math.round((curve.length - 1) / 10)) === 0);
  const wide = curve.some((p) => typeof p.newLo === 'number');
  return (
    <figure ref={ref}>
      <Frame id={id} label={label} say={say} W={W} H={H}>
        {steps(lo - pad, hi + pad, 5).map((v) => (
          <g key={v}>
            <path class="grid" d={`M${left} ${y(v).toFixed(1)} H${W - right}`} />
            <text class="axis-end" x={left - 6} y={y(v) + 4}>{num(v, 2)}</text>
          </g>
        ))}
        {steps(curve[0]!.x, curve.at(-1)!.x, W < 480 ? 4 : 8).map((v) => <text key={v} class="axis-middle" x={x(v)} y={H - 26}>{num(v, 1)}</text>)}
        <path class="zero" d={`M${left} ${y(base).toFixed(1)} H${W - right}`} />
        {wide && <path class="new-study" d={`${path((p) => p.newLo ?? p.lo)} ${back((p) => p.newHi ?? p.hi)}Z`} />}
        <path class="band" d={`${path((p) => p.lo)} ${back((p) => p.hi)}Z`} />
        {dots.map((d, i) => <circle key={i} class="dot" cx={x(d.x).toFixed(1)} cy={at(d.y)} r={(1.5 + 3 * Math.sqrt(d.weight)).toFixed(1)} />)}
        <path class="middle" d={path((p) => p.mid)} />
        <text class="axis-middle" x={(left + W) / 2} y={H - 6}>{xName}</text>
        <text x={left} y={11}>{yName}</text>
      </Frame>
      <figcaption class="legend">{legend}</figcaption>
      <details class="as-table">
        <summary>{t('as.table')}</summary>
        <Table caption={label} columns={[xName, t('ev.mean'), t('ev.interval'), ...(wide ? [t('ev.new')] : [])]}
          rows={shown.map((p) => [num(p.x, 1), fixed(p.mid, 2), range(p.lo, p.hi, 2), ...(wide ? [typeof p.newLo === 'number' && typeof p.newHi === 'number' ? range(p.newLo, p.newHi, 2) : '–'] : [])])} />
      </details>
    </figure>
  );
}

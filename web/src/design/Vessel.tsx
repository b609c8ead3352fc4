// The vessel: one set. Height is what the lifter has (reps to failure), filled is done, pale is planned, the empty part
// is what is left in reserve. The doubt about where failure lies fades out above an open rim.
//
//   <Vessels label={t('vessel.session')} sets={[{ done: 8, called: 2, capacity, caption: '100 kg' }]} />
import { useId } from 'preact/hooks';
import type { Interval } from '../api/types';
import { t } from '../text';
import { num, range } from '../format';
import { Table } from './Table';
import { useWidth } from './width';

export interface VesselSet {
  done?: number;
  planned?: number;
  capacity?: Interval | null;
  called?: number;
  calledOpen?: boolean; // "5+": at least this many
  failed?: boolean; // one more was tried and missed
  caption?: string;
  current?: boolean;
  waiting?: boolean; // logged here, not yet at the program
}

export interface Drawn {
  x: number;
  width: number;
  base: number;
  perRep: number;
}

// Rim: where failure lies. For a set that failed it is known; otherwise the middle of what is believed.
export function rim(set: VesselSet): number {
  if (set.failed) return Math.max(set.done ?? 0, 0.6);
  if (set.capacity) return Math.max(set.capacity.median, set.done ?? 0, 0.6);
  return Math.max(set.done ?? 0, set.planned ?? 0) + 2;
}
export function tallest(sets: VesselSet[]): number {
  return Math.max(4, ...sets.map((s) => Math.max(rim(s), s.failed ? 0 : (s.capacity?.hi80 ?? 0), (s.done ?? 0) + (s.called ?? 0))));
}

export function wallPath(d: Drawn, top: number, broken: boolean): string {
  const { x, width: w, base } = d;
  const y = base - top * d.perRep;
  const r = Math.min(7, w / 4);
  const left = `M${x - 3} ${y - 3} L${x} ${y + 1} V${base - r} Q${x} ${base} ${x + r} ${base}`;
  const bottom = `H${x + w - r} Q${x + w} ${base} ${x + w} ${base - r}`;
  const right = broken
    ? `V${y + 9} l-3 -3 l6 -3 l-4 -4 l5 -3` // a cracked rim
    : `V${y + 1} L${x + w + 3} ${y - 3}`;
  return `${left} ${bottom} ${right}`;
}

export function fillPath(d: Drawn, reps: number): string {
  const inset = 2;
  const x = d.x + inset;
  const w = d.width - 2 * inset;
  const base = d.base - inset;
  const r = Math.min(5, w / 4, Math.max(0, (reps * d.perRep) / 2));
  const y = Math.min(base - r, d.base - reps * d.perRep);
  return `M${x} ${y} V${base - r} Q${x} ${base} ${x + r} ${base} H${x + w - r} Q${x + w} ${base} ${x + w} ${base - r} V${y} Z`;
}

function One({ set, d, gradient }: { set: VesselSet; d: Drawn; gradient: string }) {
  const { x, width: w, base, perRep: u } = d;
  const top = rim(set);
  const yOf = (reps: number) => base - reps * u;
  const level = set.done ?? set.planned ?? 0;
  const isDone = set.done !== undefined;
  const known = set.capacity && !set.failed;
  const every = u < 3 ? 5 : 1;
  const ticks: number[] = [];
  for (let r = every; r < top - 0.2 && r * u < 400; r += every) ticks.push(r);
  const pointer = isDone && set.called !== undefined && !set.failed ? yOf(level + set.called) : undefined;
  const inside = level * u >= 22;
  return (
    <g class={`vessel${set.current ? ' is-current' : ''}${set.waiting ? ' is-waiting' : ''}`}>
      {known && set.capacity && (
        <>
          <rect class="haze" x={x + 1} width={w - 2} y={yOf(set.capacity.hi80)} fill={`url(#${gradient}a)`}
            height={Math.max(0, yOf(set.capacity.median) - yOf(set.capacity.hi80))} />
          <rect class="haze" x={x + 1} width={w - 2} y={yOf(set.capacity.median)} fill={`url(#${gradient}b)`}
            height={Math.max(0, yOf(Math.max(0, set.capacity.lo80)) - yOf(set.capacity.median))} />
        </>
      )}
      {level > 0 && <path class={isDone ? 'done' : 'planned'} d={fillPath(d, level)} />}
      {isDone && set.planned !== undefined && set.planned > level && (
        <path class="short" d={`M${x + 2} ${yOf(set.planned)} H${x + w - 2}`} />
      )}
      {ticks.map((r) => (
        <path key={r} class={r < level - 0.01 ? (isDone ? 'tick on-done' : 'tick on-planned') : 'tick'}
          d={`M${x} ${yOf(r)} h${r % 5 === 0 ? 8 : 5}`} />
      ))}
      <path class={`wall${set.capacity || set.failed ? '' : ' unknown'}`} d={wallPath(d, top, !!set.failed)} />
      {known && set.capacity && <path class="median" d={`M${x + 4} ${yOf(set.capacity.median)} H${x + w - 3}`} />}
      {pointer !== undefined && (
        <path class="pointer" d={`M${x + w + 2} ${pointer} l8 -4.500 v9 z${set.calledOpen ? ' m4 -6 l4 -5 l4 5' : ''}`} />
      )}
      {(isDone || set.planned !== undefined) && (
        <text class={`reps${inside ? (isDone ? ' on-done' : ' on-planned') : ''}`} x={x + w / 2}
          y={inside ? base - 8 : yOf(level) - 5}>
          {num(level)}
        </text>
      )}
      {set.caption && (
        <text class="caption" x={x + w / 2} y={base + 16}>
          {set.caption}
        </text>
      )}
      {set.current && <path class="mark" d={`M${x - 4} ${base + 23} H${x + w + 4}`} />}
    </g>
  );
}

// What a set says in words, for those who hear the page and for the table.
export function sayVessel(set: VesselSet, place: number): string {
  const parts: string[] = [];
  const head = set.caption ? `${t('set.number', { n: place })}, ${set.caption}` : t('set.number', { n: place });
  if (set.done !== undefined) parts.push(t('vessel.done', { n: set.done }));
  else if (set.planned !== undefined) parts.push(t('vessel.planned', { n: set.planned }));
  if (set.failed) parts.push(t('vessel.failed'));
  else if (set.capacity)
    parts.push(t('vessel.capacity', { range: range(set.capacity.lo80, set.capacity.hi80, 0), median: num(set.capacity.median, 0) }));
  if (set.called !== undefined && !set.failed)
    parts.push(t('vessel.called', { n: `${num(set.called)}${set.calledOpen ? '+' : ''}` }));
  if (set.waiting) parts.push(t('vessel.waiting'));
  return `${head}: ${parts.join(', ')}`;
}

interface VesselsProps {
  sets: VesselSet[];
  label: string;
  height?: number; // px of the scale
  width?: number; // px of the row
  scale?: number; // reps at full height, to draw several rows alike
  table?: boolean; // offers the same as a table
  legend?: boolean;
}

export function Vessels({ sets, label, height = 128, width: wanted = 328, scale, table, legend }: VesselsProps) {
  const { ref, width } = useWidth(wanted);
  const id = useId().replace(/[^A-Za-z0-9]/g, '');
  const most = scale ?? tallest(sets);
  const u = Math.min(16, height / most);
  const drawnHeight = Math.max(1, Math.min(height, most * u));
  const slot = Math.min(76, width / Math.max(1, sets.length));
  const captions = sets.some((s) => s.caption);
  const above = sets.some((s) => s.calledOpen) ? 18 : 9;
  const full = drawnHeight + above + (captions ? 28 : 6);
  return (
    <figure class="vessels" ref={ref}>
      <svg class="vessel-row" viewBox={`0 0 ${width} ${full}`} width={width} height={full} role="img"
        aria-labelledby={`${id}t ${id}d`}>
        <title id={`${id}t`}>{label}</title>
        <desc id={`${id}d`}>{sets.map((s, i) => sayVessel(s, i + 1)).join('. ')}</desc>
        <defs>
          <linearGradient id={`${id}ga`} x1="0" y1="0" x2="0" y2="1">
            <stop class="doubt-none" offset="0" />
            <stop class="doubt-most" offset="1" />
          </linearGradient>
          <linearGradient id={`${id}gb`} x1="0" y1="0" x2="0" y2="1">
            <stop class="doubt-most" offset="0" />
            <stop class="doubt-some" offset="1" />
          </linearGradient>
        </defs>
        {sets.map((set, i) => {
          const w = Math.max(12, Math.min(set.current ? 52 : 40, slot - 20));
          const x = slot * i + Math.max(4, (slot - w) / 2 - 4);
          return <One key={i} set={set} gradient={`${id}g`} d={{ x, width: w, base: drawnHeight + above - 1, perRep: u }} />;
        })}
      </svg>
      {legend && <figcaption class="legend">{t('vessel.legend')}</figcaption>}
      {table && (
        <details class="as-table">
          <summary>{t('as.table')}</summary>
          <Table
            caption={label}
            columns={[t('set'), t('load'), t('reps.done'), t('reps.planned'), t('vessel.has'), t('called')]}
            rows={sets.map((s, i) => [
              num(i + 1),
              s.caption ?? '–',
              s.done !== undefined ? num(s.done) + (s.failed ? ` ${t('vessel.failed')}` : '') : '–',
              s.planned !== undefined ? num(s.planned) : '–',
              s.capacity ? `${num(s.capacity.median, 0)} (${range(s.capacity.lo80, s.capacity.hi80, 0)})` : '–',
              s.called !== undefined ? `${num(s.called)}${s.calledOpen ? '+' : ''}` : '–',
            ])}
          />
        </details>
      )}
    </figure>
  );
}

// A small vessel for ruled sheets: no captions, same meaning.
export function VesselStrip({ sets, label, scale }: { sets: VesselSet[]; label: string; scale?: number }) {
  return <Vessels sets={sets.map((s) => ({ ...s, caption: undefined }))} label={label} height={56} width={sets.length * 38}
    scale={scale} />;
}

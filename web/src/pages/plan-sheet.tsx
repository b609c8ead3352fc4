// A block as a ruled sheet: rows are exercises, columns are days, each cell a row of small vessels. Exercises and whole
// sessions are moved by dragging, by Shift with an arrow key, or in words; the program checks the rules at once.
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { Block, BlockChanged, BlockItem, BlockWeek, BlockWish, Blocks, KeptBlock } from '../api/types';
import { Check, Choice, Dialog, Empty, Failure, Notice, Said, SaidList, TextField, Why, tell, tellFailure } from '../design/parts';
import { Table } from '../design/Table';
import { day, num, range, readNumber } from '../format';
import { t, type TextKey } from '../text';
import { sayText } from '../text/said';
import { useAsk } from '../use';
import { CurvePart } from './curve';
import { weekdayName, weekdays } from './plan-days';
import { CameBetween } from './plan-rules';

const weekdayOf = (iso: string) => ((new Date(`${iso}T00:00Z`).getUTCDay() + 6) % 7) + 1;

interface SheetProps {
  kept: KeptBlock;
  data: Blocks;
  plan: (wish: BlockWish) => Promise<void>;
  busy: boolean;
  unfit: () => void; // the estimates have to be made anew first
  done: () => void;
  anew: () => void;
}
type Way = { exercise?: string; name?: string; weekday: number; to: number };
type Open = { kind: 'cell'; weekday: number; item: BlockItem } | { kind: 'day'; date: string } | { kind: 'add' } | { kind: 'keep' } | { kind: 'between' };

export function Sheet({ kept, data, plan, busy, unfit, done, anew }: SheetProps) {
  const b = kept.block;
  const now = b.weeks.findIndex((w) => w.days.some((d) => d.date >= data.today));
  const [week, setWeek] = useState(Math.max(0, now));
  const [all, setAll] = useState(true);
  const [open, setOpen] = useState<Open>();
  const [why, setWhy] = useState('');
  const [error, setError] = useState<unknown>();
  const w = b.weeks[week];
  const proposed = kept.state === 'proposed';
  const span = { from_week: week + 1, to_week: all ? b.weeks.length : week + 1 };
  const path = { lifter: data.id };
  const change = async (said: string, asked: Promise<BlockChanged>) => {
    try {
      const r = await asked;
      tell(said, r.change);
      setError(undefined);
      setOpen(undefined);
      done();
      return true;
    } catch (e) {
      if (e instanceof Refusal && e.code === 'not_fitted') unfit();
      else setError(e);
      return false;
    }
  };
  const decide = (how: 'accept' | 'reject') =>
    void change(t(how === 'accept' ? 'plan.accepted' : 'plan.rejected'), ask(`POST /api/lifters/{lifter}/blocks/${how}`, { path, body: { why } }));
  const move = ({ exercise, name, weekday, to }: Way) =>
    change(name ? t('plan.moved', { name, day: weekdayName(to) }) : t('plan.moved.session', { from: weekdayName(weekday), day: weekdayName(to) }),
      ask('POST /api/lifters/{lifter}/blocks/move', { path, body: { weekday, to_weekday: to, exercise, ...span } }));
  const edit = (said: string, body: { weekday: number; exercise: string; sets?: number; reserve?: number }) =>
    change(said, ask('POST /api/lifters/{lifter}/blocks/edit', { path, body: { ...body, ...span } }));
  if (!w) return <Empty title={t('plan.empty')} />;
  const f = b.figures;
  return (
    <section class="block">
      <h2>{t(proposed ? 'plan.proposed' : 'plan.stands', { n: b.weeks.length, from: day(b.weeks[0]!.monday), name: b.name ? sayText(b.name) : t('plan.block') })}</h2>
      <p class="serif">
        {f.sets > 0 && t('plan.figures', { sets: num(f.sets, 0), reserve: num(f.reserve, 1), failure: num(f.failure_sets, 1) })}{' '}
        {!b.edited && gapText(b)} {b.solve.stopped && !b.edited && t('plan.stopped')}
        {kept.said && ` “${kept.said}”`}
      </p>
      <Changes list={b.changes} />
      <Faults block={b} />
      {error !== undefined && <Failure error={error} />}
      {proposed && (
        <div class="line end no-print">
          <TextField label={t('plan.word')} value={why} set={setWhy} />
          <button type="button" class="first" disabled={busy} onClick={() => decide('accept')}>
            {b.faults.length ? t('plan.accept.faults', { n: b.faults.length }) : t('plan.accept')}
          </button>
          <button type="button" disabled={busy} onClick={() => decide('reject')}>{t('plan.reject')}</button>
        </div>
      )}
      <div class="line spread end no-print">
        <Choice label={t('plan.week')} value={String(week)} set={(v) => setWeek(Number(v))}
          options={b.weeks.map((x, i): [string, string] => [String(i), `${t('plan.week.n', { n: i + 1 })}, ${day(x.monday)}${x.kind === 'usual' ? '' : `, ${t(`plan.kind.${x.kind}` as TextKey)}`}`])} />
        <Check label={t('plan.all.weeks')} checked={all} set={setAll} />
      </div>
      {(w.why || w.note) && <p class="serif">{w.why && <Said own of={w.why} />}{w.why && w.note && ' · '}{w.note}</p>}
      <Grid week={w} number={week + 1} today={data.today} move={(way) => move(way)} busy={busy} open={setOpen} changeDays={!proposed} />
      <p class="small soft no-print">{t('plan.how')}</p>
      <div class="actions no-print">
        <button type="button" disabled={busy} onClick={() => setOpen({ kind: 'add' })}>{t('plan.add.exercise')}</button>
        <button type="button" disabled={busy} onClick={() => void plan(proposed ? { request: b.request } : {})}>{t(proposed ? 'plan.recheck' : 'plan.from.today')}</button>
        {!proposed && <button type="button" disabled={busy} onClick={() => setOpen({ kind: 'between' })}>{t('plan.between')}</button>}
        <button type="button" disabled={busy} onClick={anew}>{t('plan.anew')}</button>
        <button type="button" disabled={busy} onClick={() => setOpen({ kind: 'keep' })}>{t('plan.keep')}</button>
      </div>
      <Note key={week} lifter={data.id} week={week} note={w.note} done={done} />
      <p class="serif">
        {t('plan.sets.of', { n: week + 1 })} {Object.entries(w.muscle_sets).filter(([, n]) => n > 0).map(([m, n]) => `${t(`muscle.${m}` as TextKey)} ${num(n, 1)}`).join(', ')}.
      </p>
      <CurvePart data={data} kept={kept} week={week} busy={busy} plan={plan} />
      <Readings block={b} />
      {[...b.remarks, ...b.cautions].length > 0 && <SaidList class="small" list={[...b.remarks, ...b.cautions]} />}
      {open?.kind === 'cell' && (
        <EditCell {...open} span={all} days={w.days.filter((d) => !d.closed && d.date >= data.today).map((d) => weekdayOf(d.date))} error={error} close={() => (setOpen(undefined), setError(undefined))}
          move={(to) => move({ exercise: open.item.exercise, name: open.item.name, weekday: open.weekday, to })}
          edit={(body) => edit(t('plan.edited', { name: open.item.name }), { weekday: open.weekday, exercise: open.item.exercise, ...body })} />
      )}
      {open?.kind === 'day' && (
        <DayDialog date={open.date} error={error} accepted={!proposed} close={() => (setOpen(undefined), setError(undefined))}
          move={(to) => void move({ weekday: weekdayOf(open.date), to })} plan={(c) => (setOpen(undefined), void plan({ day_changes: [c] }))} />
      )}
      {open?.kind === 'add' && (
        <AddDialog days={w.days.filter((d) => !d.closed && d.date >= data.today).map((d) => weekdayOf(d.date))} error={error} close={() => (setOpen(undefined), setError(undefined))}
          add={(name, body) => void edit(t('plan.added', { name, day: weekdayName(body.weekday) }), body)} />
      )}
      {open?.kind === 'between' && <CameBetween today={data.today} close={() => setOpen(undefined)} plan={(wish) => (setOpen(undefined), void plan(wish))} />}
      {open?.kind === 'keep' && <KeepDialog request={b.request} name={b.name} close={() => setOpen(undefined)} />}
    </section>
  );
}

// How much better another plan could be, at most.
export const gapText = (b: Block) => (b.solve.gap < 1 ? t('plan.gap', { p: num(100 * b.solve.gap, 1) }) : t('plan.gap.unknown'));

function Changes({ list }: { list: string[] }) {
  if (!list.length) return null;
  return (
    <Why of={t('plan.changes')}>
      <p>{t('plan.changes')}</p>
      <SaidList list={list} />
    </Why>
  );
}

// Rules that the block breaks since it was changed by hand.
function Faults({ block: b }: { block: Block }) {
  return (
    <div role="status">
      {b.edited && !b.faults.length && <p class="serif">{t('plan.checked')}</p>}
      {b.faults.length > 0 && (
        <Notice title={t('plan.faults', { n: b.faults.length })}>
          <ul>
            {b.faults.slice(0, 12).map((f, i) => (
              <li key={i}>
                {f.date ? day(f.date, 'weekday') : f.week ? t('plan.week.n', { n: f.week }) : t('plan.block')}: <Said of={f.rule} />; {t('plan.found')} <Said of={f.found} />
              </li>
            ))}
            {b.faults.length > 12 && <li>{t('plan.faults.more', { n: b.faults.length - 12 })}</li>}
          </ul>
        </Notice>
      )}
    </div>
  );
}

function setsText(item: BlockItem): string {
  return item.sets.map((s) => `${s.sets} × ${range(s.least_reps, s.most_reps, 0)}, ${s.reserve ? t('plan.left', { n: s.reserve }) : t('plan.to.failure')}`).join('; ');
}

// One small vessel a set: filled as planned, empty what is left, open above.
function MiniVessels({ item }: { item: BlockItem }) {
  const all = item.sets.flatMap((s) => Array.from({ length: s.sets }, () => s));
  const unit = 1.6;
  return (
    <svg class="mini" viewBox={`0 0 ${all.length * 17 + 4} 37`} width={all.length * 17 + 4} height="37" aria-hidden="true">
      {all.map((s, i) => {
        const reps = Math.min(s.most_reps, 20 - Math.min(s.reserve, 10));
        const rim = 35.5 - (reps + Math.min(s.reserve, 10)) * unit;
        const x = i * 17 + 3;
        return (
          <g key={i} class="vessel">
            <rect class="planned" x={x + 1} width="10" y={35.5 - reps * unit} height={reps * unit} />
            <path class="wall" d={`M${x - 1} ${rim - 1.500} L${x} ${rim} V35.500 H${x + 12} V${rim} l1 -1.500`} />
          </g>
        );
      })}
    </svg>
  );
}

function useNarrow() {
  const [narrow, setNarrow] = useState(() => matchMedia('(max-width: 44rem)').matches);
  useEffect(() => {
    const m = matchMedia('(max-width: 44rem)');
    const l = () => setNarrow(m.matches);
    m.addEventListener('change', l);
    return () => m.removeEventListener('change', l);
  }, []);
  return narrow;
}

interface GridProps {
  week: BlockWeek;
  number: number;
  today: string;
  busy?: boolean;
  changeDays?: boolean;
  label?: string; // where several weeks stand on one page
  open?: (what: Open) => void; // without it: to be looked at only
  move?: (way: Way) => Promise<boolean>;
}
export function Grid({ week: w, number, today, busy, changeDays, label, open, move }: GridProps) {
  const [dragged, setDragged] = useState<{ weekday: number; item?: BlockItem }>();
  const narrow = useNarrow();
  const focus = useRef('');
  const box = useRef<HTMLDivElement>(null);
  // What was moved by key keeps the key's attention on its new day.
  useEffect(() => {
    const there = focus.current && box.current?.querySelector<HTMLElement>(`[data-at="${CSS.escape(focus.current)}"]`);
    if (!there) return;
    focus.current = '';
    there.focus();
  });
  const rows = [...new Map(w.days.flatMap((d) => d.exercises.map((e): [string, string] => [e.exercise, e.name])))];
  const free = (d: BlockWeek['days'][number]) => !!open && !busy && !d.closed && d.date >= today;
  const step = (e: KeyboardEvent, weekday: number, item?: BlockItem) => {
    if (!e.shiftKey || !move || (e.key !== 'ArrowLeft' && e.key !== 'ArrowRight')) return;
    e.preventDefault();
    const by = e.key === 'ArrowRight' ? 1 : -1;
    const to = item ? weekdayOf(w.days[w.days.findIndex((d) => weekdayOf(d.date) === weekday) + by]?.date ?? '') : weekday + by;
    if (!(to >= 1 && to <= 7)) return;
    focus.current = `${item?.exercise ?? ''}/${to}`;
    void move({ exercise: item?.exercise, name: item?.name, weekday, to }).then((ok) => !ok && (focus.current = ''));
  };
  const drop = (to: number) => {
    const from = dragged;
    setDragged(undefined);
    if (from && from.weekday !== to) void move?.({ exercise: from.item?.exercise, name: from.item?.name, weekday: from.weekday, to });
  };
  const takes = (d: BlockWeek['days'][number]) => {
    if (!dragged || !free(d) || weekdayOf(d.date) === dragged.weekday) return false;
    return !dragged.item || !d.exercises.some((e) => e.exercise === dragged.item!.exercise);
  };
  const minutes = (d: BlockWeek['days'][number]) => (
    <span class={d.minutes > d.limit_minutes + 0.5 ? 'over-limit' : 'soft light'}>
      {d.closed ? <Said own of={d.closed} /> : t('plan.minutes', { n: num(d.minutes, 0), of: num(d.limit_minutes, 0) })}
    </span>
  );
  const head = (d: BlockWeek['days'][number]): ComponentChildren =>
    free(d) ? (
      <button type="button" class="session-key" draggable data-at={`/${weekdayOf(d.date)}`} onKeyDown={(e) => step(e, weekdayOf(d.date))}
        onDragStart={(e) => (e.dataTransfer?.setData('text/plain', d.date), setDragged({ weekday: weekdayOf(d.date) }))} onDragEnd={() => setDragged(undefined)}
        onClick={() => open?.({ kind: 'day', date: d.date })}>
        {day(d.date, 'weekday')}<span class="unseen"> {t(changeDays ? 'plan.day.change' : 'plan.day.move')}</span>
      </button>
    ) : (
      day(d.date, 'weekday')
    );
  const cell = (d: BlockWeek['days'][number], item: BlockItem, name?: string): ComponentChildren => {
    const text = `${setsText(item)}${item.test ? `, ${t('plan.test')}` : ''}`;
    if (!free(d)) return <span class="cell"><MiniVessels item={item} /><span>{name && <strong>{name}</strong>} {text}</span></span>;
    return (
      <button type="button" class={`cell${dragged?.item?.exercise === item.exercise && dragged.weekday === weekdayOf(d.date) ? ' is-dragged' : ''}`} draggable data-at={`${item.exercise}/${weekdayOf(d.date)}`}
        onKeyDown={(e) => step(e, weekdayOf(d.date), item)}
        onDragStart={(e) => (e.dataTransfer?.setData('text/plain', item.name), setDragged({ weekday: weekdayOf(d.date), item }))} onDragEnd={() => setDragged(undefined)}
        onClick={() => open?.({ kind: 'cell', weekday: weekdayOf(d.date), item })}>
        <MiniVessels item={item} />
        <span>{name && <strong>{name}</strong>} {text}</span>
        {!name && <span class="unseen">, {item.name}, {day(d.date, 'long')}</span>}
      </button>
    );
  };
  const reasons = rows.map(([id, name]): [string, string[]] => [name, [...new Set(w.days.flatMap((d) => d.exercises.filter((e) => e.exercise === id && e.why).map((e) => e.why)))]]);
  return (
    <div ref={box}>
      {narrow ? (
        <div class="block-days">
          {w.days.map((d) => (
            <div key={d.date}>
              <h3 class="block-day">{head(d)} {minutes(d)}</h3>
              <ul>{d.exercises.map((item) => <li key={item.exercise}>{cell(d, item, item.name)}</li>)}</ul>
              {!d.exercises.length && <p class="soft small">{t('plan.nothing')}</p>}
            </div>
          ))}
        </div>
      ) : (
        <div class="table-scroll" tabIndex={0} role="region" aria-label={label ?? t('plan.week.n', { n: number })}>
          <table class="ruled block-grid">
            <caption class="unseen">{t('plan.grid')}</caption>
            <thead>
              <tr>
                <th scope="col">{t('exercise')}</th>
                {w.days.map((d) => (
                  <th key={d.date} scope="col" class={takes(d) && !dragged?.item ? 'may-drop' : ''}
                    onDragOver={(e) => takes(d) && e.preventDefault()} onDrop={(e) => (e.preventDefault(), drop(weekdayOf(d.date)))}>
                    {head(d)}
                    <br />
                    {minutes(d)}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {rows.map(([id, name]) => (
                <tr key={id}>
                  <th scope="row">{name}</th>
                  {w.days.map((d) => {
                    const item = d.exercises.find((e) => e.exercise === id);
                    return (
                      <td key={d.date} class={takes(d) && (!dragged?.item || dragged.item.exercise === id) ? 'may-drop' : ''}
                        onDragOver={(e) => takes(d) && e.preventDefault()} onDrop={(e) => (e.preventDefault(), drop(weekdayOf(d.date)))}>
                        {item && cell(d, item)}
                      </td>
                    );
                  })}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {reasons.some(([, r]) => r.length > 0) && (
        <Why of={t('plan.grid')}>
          {reasons.filter(([, r]) => r.length > 0).map(([name, r]) => <p key={name}>{name}: {r.map((x, i) => <span key={i}>{i > 0 && ' '}<Said of={x} /></span>)}</p>)}
        </Why>
      )}
    </div>
  );
}

// Which readings of growth short of failure it was held against, on what each rests, and what each alone would ask for.
function Readings({ block: b }: { block: Block }) {
  const signed = (v: number) => (Math.round(v) > 0 ? `+${num(v, 0)}` : num(v, 0));
  const besidePlan = (effect: number[]) =>
    effect.map((e, i) => `${signed(100 * (e / (b.trade_off.effect[i] || 1) - 1))} % (${sayText(b.trade_off.readings[i] ?? '')})`).join(', ');
  return (
    <>
      <h3>{b.readings.length > 1 ? t('plan.readings', { n: b.readings.length, p: num(100 * b.solve.worst_regret, 1) }) : t('plan.readings.one')}</h3>
      {b.edited && <p class="small soft">{t('plan.readings.before')}</p>}
      <Table caption={t('plan.readings.table')} columns={[t('plan.reading'), t('plan.regret'), t('plan.alone.sets'), t('plan.alone.reserve'), t('plan.alone.days')]}
        rows={b.readings.map((r) => [
          <span><Said own of={r.name} />{' '}{r.rests_on && <Why of={r.name}><Said as="p" of={r.rests_on} /></Why>}</span>,
          `${num(100 * r.regret, 1)} %`, num(r.alone.sets, 0), num(r.alone.reserve, 1), r.alone.same_plan ? t('plan.same') : num(r.alone.days_different),
        ])} />
      {b.trade_off.fatigue_pct > 0 && b.trade_off.corners.map((c) => (
        <p key={c.name} class="serif">
          {t(c.name === 'very easy' ? 'plan.corner.easy' : 'plan.corner.failure', {
            effects: besidePlan(c.effect),
            lost: signed(100 * (c.fatigue_pct / b.trade_off.fatigue_pct - 1)),
          })}
        </p>
      ))}
      {b.trade_off.fatigue_pct > 0 && b.played && (
        <p class="serif">
          {t('plan.played', {
            effects: besidePlan(b.played.effect),
            lost: signed(100 * (b.played.fatigue_pct / b.trade_off.fatigue_pct - 1)), missed: num(100 * b.played.missed, 1),
          })}
        </p>
      )}
    </>
  );
}

interface EditProps {
  weekday: number;
  item: BlockItem;
  span: boolean;
  days: number[];
  error: unknown;
  close: () => void;
  move: (to: number) => Promise<boolean>;
  edit: (body: { sets?: number; reserve?: number }) => Promise<boolean>;
}
function EditCell({ weekday, item, span, days, error, close, move, edit }: EditProps) {
  const total = item.sets.reduce((n, s) => n + s.sets, 0);
  const [sets, setSets] = useState(String(total));
  const [reserve, setReserve] = useState(String(item.sets[0]?.reserve ?? 2));
  const [to, setTo] = useState(String(weekday));
  const n = readNumber(sets);
  const r = readNumber(reserve);
  const whole = (v: number | undefined) => v !== undefined && Number.isInteger(v) && v >= 0 && v <= 10;
  const edited = n !== total || r !== item.sets[0]?.reserve;
  const moved = Number(to) !== weekday;
  return (
    <Dialog title={`${item.name}, ${weekdayName(weekday)}`} close={close}>
      {item.why && <Said as="p" class="serif" of={item.why} />}
      <p class="small soft">{t(span ? 'plan.span.all' : 'plan.span.one')}</p>
      <form onSubmit={(e) => (e.preventDefault(), void (moved ? move(Number(to)) : edited && whole(n) && whole(r) && n! > 0 ? edit({ sets: n, reserve: r }) : undefined))}>
        <div class="fields">
          <TextField label={t('plan.sets')} inputMode="numeric" value={sets} set={(v) => (setSets(v), setTo(String(weekday)))} fault={whole(n) && n! > 0 ? undefined : t('plan.whole.fault', { from: 1, to: 10 })} />
          <TextField label={t('plan.reserve')} inputMode="numeric" value={reserve} set={(v) => (setReserve(v), setTo(String(weekday)))} fault={whole(r) ? undefined : t('plan.whole.fault', { from: 0, to: 10 })} />
          <Choice label={t('plan.day')} value={to} set={(v) => (setTo(v), setSets(String(total)), setReserve(String(item.sets[0]?.reserve ?? 2)))} options={days.map((d): [string, string] => [String(d), weekdayName(d)])} />
        </div>
        {error !== undefined && <Failure error={error} />}
        <div class="actions">
          <button type="submit" class="first" disabled={!moved && (!edited || !whole(n) || !whole(r) || n === 0)}>{t(moved ? 'plan.move' : 'save')}</button>
          <button type="button" onClick={() => void edit({ sets: 0 })}>{t('plan.remove')}</button>
          <button type="button" onClick={close}>{t('cancel')}</button>
        </div>
      </form>
    </Dialog>
  );
}

// A whole session: to another weekday by hand; or one day that is missed, moved or cut, and the rest solved around it.
function DayDialog({ date, error, accepted, close, move, plan }: {
  date: string;
  error: unknown;
  accepted: boolean;
  close: () => void;
  move: (to: number) => void;
  plan: (c: { date: string; to?: string; minutes?: number }) => void;
}) {
  const weekday = weekdayOf(date);
  const [to, setTo] = useState(String(weekday));
  const [on, setOn] = useState('');
  const [minutes, setMinutes] = useState('');
  const n = readNumber(minutes);
  return (
    <Dialog title={day(date, 'long')} close={close}>
      <p>{t('plan.session.text')}</p>
      <div class="line end">
        <Choice label={t('plan.day')} value={to} set={setTo} options={weekdays.map((d): [string, string] => [String(d), weekdayName(d)])} />
        <button type="button" class="first" disabled={Number(to) === weekday} onClick={() => move(Number(to))}>{t('plan.session.move')}</button>
      </div>
      {error !== undefined && <Failure error={error} />}
      {accepted && (
        <>
          <h3>{t('plan.day.once')}</h3>
          <p>{t('plan.day.text')}</p>
          <div class="line end">
            <TextField label={t('plan.day.to')} type="date" value={on} set={setOn} />
            <button type="button" disabled={!on} onClick={() => plan({ date, to: on })}>{t('plan.day.shift')}</button>
          </div>
          <div class="line end">
            <TextField label={t('plan.day.cut')} inputMode="numeric" value={minutes} set={setMinutes} />
            <button type="button" disabled={n === undefined || n < 5 || n > 300} onClick={() => plan({ date, minutes: n! })}>{t('plan.day.shorten')}</button>
          </div>
        </>
      )}
      <div class="actions">
        {accepted && <button type="button" onClick={() => plan({ date })}>{t('plan.day.missed')}</button>}
        <button type="button" onClick={close}>{t('cancel')}</button>
      </div>
    </Dialog>
  );
}

function AddDialog({ days, error, close, add }: { days: number[]; error: unknown; close: () => void; add: (name: string, body: { weekday: number; exercise: string; sets: number }) => void }) {
  const { data } = useAsk(() => ask('GET /api/exercises', { query: { limit: 1000 } }), '');
  const [exercise, setExercise] = useState('');
  const [weekday, setWeekday] = useState(String(days[0] ?? 1));
  const [sets, setSets] = useState('3');
  const n = readNumber(sets);
  const good = n !== undefined && Number.isInteger(n) && n >= 1 && n <= 10;
  return (
    <Dialog title={t('plan.add.exercise')} close={close}>
      <div class="fields">
        <Choice label={t('exercise')} value={exercise} set={setExercise} options={[['', t('plan.choose')], ...(data?.exercises ?? []).map((e): [string, string] => [e.exercise, e.name])]} />
        <Choice label={t('plan.day')} value={weekday} set={setWeekday} options={days.map((d): [string, string] => [String(d), weekdayName(d)])} />
        <TextField label={t('plan.sets')} inputMode="numeric" value={sets} set={setSets} fault={good ? undefined : t('plan.whole.fault', { from: 1, to: 10 })} />
      </div>
      {error !== undefined && <Failure error={error} />}
      <div class="actions">
        <button type="button" class="first" disabled={!exercise || !good} onClick={() => add(data!.exercises.find((e) => e.exercise === exercise)!.name, { weekday: Number(weekday), exercise, sets: n! })}>{t('plan.add')}</button>
        <button type="button" onClick={close}>{t('cancel')}</button>
      </div>
    </Dialog>
  );
}

// What was asked for, under a name of its own, for the next lifter.
function KeepDialog({ request, name, close }: { request: string; name: string; close: () => void }) {
  const [as, setAs] = useState(name);
  const [error, setError] = useState<unknown>();
  const save = async () => {
    try {
      tell(t('template.kept', { name: as }), (await ask('PUT /api/templates/{name}', { path: { name: as.trim() }, body: { toml: named(request, as.trim()) } })).change);
      close();
    } catch (e) {
      setError(e);
    }
  };
  return (
    <Dialog title={t('plan.keep')} close={close}>
      <p>{t('plan.keep.text')}</p>
      <form onSubmit={(e) => (e.preventDefault(), as.trim() && void save())}>
        <div class="fields"><TextField label={t('template.name')} value={as} set={setAs} /></div>
        {error !== undefined && <Failure error={error} />}
        <div class="actions">
          <button type="submit" class="first" disabled={!as.trim()}>{t('save')}</button>
          <button type="button" onClick={close}>{t('cancel')}</button>
        </div>
      </form>
    </Dialog>
  );
}
// The request as text under another name, and without what belongs to these weeks alone.
export function named(request: string, name: string): string {
  const parts = request.split(/^(?=\[)/m);
  const top = (parts[0]?.startsWith('[') ? '' : (parts.shift() ?? '')).replace(/^(name|from) = .*\n?/gm, '');
  return `name = ${JSON.stringify(name)}\n${top}${parts.filter((p) => !/^\[\[?(day_change|fixed|travel|target|return)/.test(p)).join('')}`;
}

function Note({ lifter, week, note, done }: { lifter: string; week: number; note: string; done: () => void }) {
  const [text, setText] = useState(note);
  const save = async () => {
    try {
      tell(t('saved'), (await ask('POST /api/lifters/{lifter}/blocks/note', { path: { lifter }, body: { week: week + 1, note: text } })).change);
      done();
    } catch (e) {
      tellFailure(e);
    }
  };
  return (
    <form class="line end no-print" onSubmit={(e) => (e.preventDefault(), void save())}>
      <TextField label={t('plan.note')} value={text} set={setText} />
      <button type="submit" disabled={text === note}>{t('save')}</button>
    </form>
  );
}

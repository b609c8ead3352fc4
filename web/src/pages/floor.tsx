// The gym floor: this set, large; reps stand at the plan; the reserve logs it.
import { useCallback, useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { Floor, FloorSession, PlanSet } from '../api/types';
import { Dialog, Failure, Holds, Loading, Notice, Said, Why, tell as tellAll, tellFailure } from '../design/parts';
import { Vessels, tallest, type VesselSet } from '../design/Vessel';
import { keyOf, keysWithWaiting, newId } from '../floor/keep';
import { change, current, keepsNothing, onSession, push, store, whenBack } from '../floor/sender';
import { hardToBelieve, same, setFromTap, settle, takeBack, view, type DoneHere, type Session, type Tap } from '../floor/session';
import { chance, clock, load, localDay, num, plates, range, time } from '../format';
import { t } from '../text';
import { FitNow } from './fit';

function useSession(lifter: string, date: string, session: string, version: number) {
  const key = keyOf(lifter, date, session);
  const [, draw] = useState(0);
  const [error, setError] = useState<unknown>();
  const [heard, setHeard] = useState(false);
  useEffect(() => onSession((k) => k === key && draw((n) => n + 1)), [key]);
  const load = useCallback(async () => {
    try {
      for (let n = 0; n < 5; n++) {
        const asked = current(key)?.heard;
        const floor = await ask('GET /api/lifters/{lifter}/floor', { path: { lifter }, query: { date, session }, timeout: 20000 });
        const before = current(key);
        // Something sent meanwhile was answered first: this answer may be older than that one, so it does not count.
        if (before && before.heard !== asked) continue;
        store(key, { ...before, floor, heard: Date.now(), waiting: before?.waiting ?? [] });
        break;
      }
      setError(undefined);
    } catch (e) {
      setError(e);
    }
    setHeard(true);
    void push(key);
  }, [key]);
  useEffect(() => whenBack(() => [key]), [key]);
  // Also when somebody else changed something: the lifter's own phone, the desk, the command line.
  useEffect(() => void load(), [load, version]);
  return { key, session: current(key), error, heard, load };
}

function useSecond(running: boolean): number {
  const [now, setNow] = useState(Date.now());
  useEffect(() => {
    if (!running) return;
    setNow(Date.now());
    const timer = setInterval(() => setNow(Date.now()), 500);
    return () => clearInterval(timer);
  }, [running]);
  return now;
}

// The rest so far, and the set just done with its way back.
function Rest({ since, planned, last, undo }: { since: number; planned: number; last?: DoneHere; undo: () => void }) {
  const now = useSecond(true);
  const gone = Math.max(0, (now - since) / 1000);
  const over = gone >= planned;
  const buzzed = useRef(over);
  useEffect(() => {
    if (over && !buzzed.current) navigator.vibrate?.(200);
    buzzed.current = over;
  }, [over]);
  return (
    <div class="rest">
      <span class="clock">
        {over ? t('rest.over') : t('rest')} <b>{clock(gone)}</b>{' '}
        <span class="soft no-break">{t('rest.of', { time: clock(planned) })}</span>
      </span>
      {last && (
        <button type="button" class="plain end" onClick={undo}>
          {t('undo')} {num(last.set.load.amount, 2)} × {num(last.set.reps)}
          {last.set.failed ? `, ${t('missed')}` : last.set.called_reserve ? `, ${t('called.short', { n: last.set.called_reserve })}` : ''}
        </button>
      )}
      <progress max={Math.max(1, planned)} value={Math.min(gone, planned)} aria-label={t('rest')} />
    </div>
  );
}

function vesselOfDone(d: DoneHere): VesselSet {
  const called = d.set.called_reserve;
  return {
    done: d.set.reps,
    planned: d.set.planned_reps ?? undefined,
    capacity: d.capacity,
    failed: d.set.failed,
    called: called === null || called === undefined ? undefined : Number.parseFloat(called),
    calledOpen: called?.endsWith('+'),
    caption: num(d.set.load.amount, 2),
    waiting: d.waiting,
  };
}
const vesselOfPlan = (s: PlanSet): VesselSet => ({ planned: s.reps, capacity: s.capacity, caption: num(s.load.amount, 2) });

// The reps around the plan, one hand's width.
export function repChoices(planned: number): number[] {
  const from = Math.max(0, planned - 3);
  return Array.from({ length: 5 }, (_, i) => from + i);
}

interface LaneProps {
  lifter: string;
  date: string;
  label: string;
  behind?: boolean;
  many: boolean;
  version: number;
}

function Lane({ lifter, date, label, behind, many, version }: LaneProps) {
  const { key, session: s, error, heard, load: again } = useSession(lifter, date, label, version);
  const v = useMemo(() => (s ? view(s) : undefined), [s]);
  const [reps, setReps] = useState<number>();
  const [half, setHalf] = useState(false);
  const [open, setOpen] = useState<'reps' | 'swap' | 'pain' | 'finish' | 'all'>();
  const [warm, setWarm] = useState<string>();
  const [said, setSaid] = useState('');
  const [asked, setAsked] = useState<Omit<Tap, 'reps'>>();
  const busy = useRef(false);
  const setId = v?.now ? `${v.now.item.exercise}/${v.now.item.side}/${v.now.place}` : '';
  useEffect(() => {
    setReps(undefined);
    setHalf(false);
    setAsked(undefined);
    busy.current = false;
  }, [setId]);

  if (!s) {
    return (
      <section class={`floor${behind ? ' is-behind' : ''}`}>
        {error instanceof Refusal && error.code === 'not_fitted' ? (
          <FitNow lifter={lifter} done={() => void again()} />
        ) : error ? (
          <Failure error={error} again={() => void again()} />
        ) : (
          <Loading />
        )}
      </section>
    );
  }
  const floor = s.floor;
  const now = v!.now;
  const planned = now?.set.reps ?? 0;
  const chosen = reps ?? planned;
  const last = v!.done.filter((d) => !d.trouble).at(-1);

  const log = (tap: Omit<Tap, 'reps'> & { reps?: number }) => {
    if (busy.current) return; // a second touch of the same tap
    if (!asked && now && hardToBelieve(now.set, chosen)) return setAsked(tap);
    setAsked(undefined);
    const at = new Date();
    const entry = setFromTap(s, v!, { reps: chosen, ...tap }, at, newId());
    if (!entry) return;
    busy.current = true;
    setSaid(t('floor.logged.say', { set: `${load(entry.input.load)} × ${entry.input.reps}` }));
    change(key, (x) => ({ ...x, waiting: [...x.waiting, entry] }));
    void push(key);
    setTimeout(() => (busy.current = false), 600);
  };
  const undo = () => {
    if (!last) return;
    if (last.client_id) {
      change(key, (x) => takeBack(x, last.client_id!));
      void push(key);
    } else if (last.set.id) {
      void ask('DELETE /api/sets/{set}', { path: { set: last.set.id } }).then(again, tellFailure);
    }
    setSaid(t('undone'));
  };
  const callOf = (n: number) => (half && n < 5 ? `${n}.5` : String(n));

  const head = (
    <header class="floor-head">
      <h2 class="who">
        <a href={`#/lifter/${encodeURIComponent(lifter)}`}>{floor.lifter}</a>
      </h2>
      <span class="line">
        {!many && <a href="#/floor">{t('floor.others')}</a>}
        <button type="button" class="plain end" onClick={() => setOpen('all')}>{t('floor.whole')}</button>
      </span>
    </header>
  );
  const trouble = v!.done.filter((d) => d.trouble);
  const waiting = s.waiting.filter((w) => !(w.kind === 'set' && w.trouble)).length;
  const state = (
    <div class="floor-state" role="status">
      {error && heard && waiting + trouble.length === 0 && !(error instanceof Refusal)
        ? t('floor.away', { time: time(s.heard) })
        : waiting
          ? t('floor.waiting', { n: waiting })
          : ''}
      {keepsNothing() && ` ${t('floor.keeps.nothing')}`}
    </div>
  );
  const clashes = trouble.map((d) => (
    <Notice key={d.client_id} harm live title={d.trouble!.code === 'clash' ? t('clash.title') : t('refused.title')}>
      <p>
        {t('clash.here')} {load(d.set.load)} × {d.set.reps}
        {d.set.called_reserve ? `, ${t('called.short', { n: d.set.called_reserve })}` : ''}.
        {d.trouble!.stored && (
          <>
            {' '}
            {t('clash.there')} {load(d.trouble!.stored.load)} × {d.trouble!.stored.reps}
            {d.trouble!.stored.called_reserve ? `, ${t('called.short', { n: d.trouble!.stored.called_reserve })}` : ''}.
          </>
        )}
        {!d.trouble!.stored && <> <Said of={d.trouble!.message} /></>}
      </p>
      <div class="actions">
        <button type="button" onClick={() => change(key, (x) => settle(x, d.client_id!, 'drop', ''))}>
          {d.trouble!.stored ? t('clash.keep') : t('clash.drop')}
        </button>
        <button type="button"
          onClick={() => {
            change(key, (x) => settle(x, d.client_id!, 'again', newId()));
            void push(key);
          }}>
          {d.trouble!.stored ? t('clash.both') : t('try.again')}
        </button>
      </div>
    </Notice>
  ));
  const dialogs = (
    <>
      {open === 'reps' && (
        <Dialog title={t('reps.done')} close={() => setOpen(undefined)}>
          <div class="keys six">
            {Array.from({ length: Math.max(31, planned + 6) }, (_, i) => (
              <button key={i} type="button" aria-pressed={i === chosen}
                onClick={() => {
                  setReps(i);
                  setOpen(undefined);
                }}>
                {num(i)}
              </button>
            ))}
          </div>
        </Dialog>
      )}
      {open === 'swap' && now && <Swap floor={floor} exercise={now.item.exercise} name={now.item.name} side={now.item.side} storeKey={key} close={() => setOpen(undefined)} />}
      {open === 'pain' && now && !asked && (
        <Pain name={now.item.name} reps={chosen} close={() => setOpen(undefined)}
          out={(note) => {
            change(key, (x) => ({ ...x, waiting: [...x.waiting, { kind: 'pain', exercise: now.item.exercise, note, tries: 0 }] }));
            void push(key);
            setOpen(undefined);
          }}
          log={(note) => {
            log({ called: null, pain: true, note });
            setOpen(undefined);
          }} />
      )}
      {asked && now && (
        <Dialog title={t('doubt.title')} close={() => setAsked(undefined)}>
          <p class="serif">{t('doubt.reps', { n: chosen, range: range(now.set.capacity.lo80, now.set.capacity.hi80, 0) })}</p>
          <div class="actions">
            <button type="button" class="first" onClick={() => setAsked(undefined)}>{t('doubt.change')}</button>
            <button type="button" onClick={() => log(asked)}>{t('doubt.yes')}</button>
          </div>
        </Dialog>
      )}
      {open === 'finish' && (
        <Dialog title={t('finish.title')} close={() => setOpen(undefined)}>
          <p class="serif">{t('finish.text', { n: v!.items.reduce((n, i) => n + i.sets.filter((x) => x.kind !== 'warmup').length, 0) })}</p>
          <div class="actions">
            <button type="button" class="first"
              onClick={() => {
                change(key, (x) => ({ ...x, waiting: [...x.waiting, { kind: 'finish', finished: true, tries: 0 }] }));
                void push(key);
                setOpen(undefined);
              }}>
              {t('finish.yes')}
            </button>
            <button type="button" onClick={() => setOpen(undefined)}>{t('finish.no')}</button>
          </div>
        </Dialog>
      )}
      {open === 'all' && (
        <Whole s={s} close={() => setOpen(undefined)}
          choose={(exercise, side) => {
            change(key, (x) => ({ ...x, chosen: { exercise, side } }));
            setOpen(undefined);
          }} />
      )}
      <span class="unseen" role="status" aria-live="polite">{said}</span>
    </>
  );
  const frame = (content: preact.ComponentChildren) => (
    <section class={`floor${behind ? ' is-behind' : ''}`} aria-label={floor.lifter}>
      {head}
      {clashes}
      {content}
      {s.refusal && (
        <Notice harm live title={t('refused.title')}>
          <Said as="p" of={s.refusal} />
          <button type="button" onClick={() => change(key, (x) => ({ ...x, refusal: undefined }))}>{t('ok')}</button>
        </Notice>
      )}
      {state}
      {dialogs}
    </section>
  );

  if (!floor.gate.allowed) return frame(<Holds holds={floor.gate.holds} name={floor.lifter} />);
  if (!v!.finished && (!floor.plan || !floor.started) && !v!.done.length) {
    return frame(<Start floor={floor} storeKey={key} again={() => void again()} />);
  }
  if (v!.finished || !now) {
    return frame(
      <Over s={s} why={v!.finished ? '' : floor.no_next}
        reopen={() => {
          change(key, (x) => ({ ...x, waiting: [...x.waiting.filter((w) => w.kind !== 'finish'), { kind: 'finish', finished: false, tries: 0 }] }));
          void push(key);
        }}
        undo={last ? undo : undefined} />,
    );
  }

  const ofThis = v!.done.filter((d) => same(d.set, now.item) && d.set.kind !== 'warmup' && !d.trouble);
  const left = now.item.sets.filter((x) => x.kind !== 'warmup');
  const row: VesselSet[] = [...ofThis.map(vesselOfDone), ...left.map((x, i) => ({ ...vesselOfPlan(x), current: i === 0 }))];
  const warmKey = `${now.item.exercise}/${now.item.side}`;
  const warming = now.warmUps.length > 0 && ofThis.length === 0 && warm !== warmKey;
  const restLine = v!.restSince ? <Rest since={v!.restSince} planned={now.set.rest_s} last={last} undo={undo} /> : null;
  const side = now.item.side === 'both' ? '' : ` · ${t(now.item.side === 'left' ? 'side.left' : 'side.right')}`;

  return frame(
    <>
      <p class="what">
        <span class="exercise">{now.item.name}{side}</span>
        <span class="soft">{warming ? t('warm.up') : t('set.of', { n: now.place, of: now.of })}</span>
      </p>
      {warming ? (
        <>
          <ol class="warm-up">
            {now.warmUps.map((w, i) => (
              <li key={i}>
                <b>{load(w.load)} × {w.reps}</b> {w.plates.length > 0 && <span class="soft">{t('plates.side', { plates: plates(w.plates) })}</span>}
              </li>
            ))}
          </ol>
          <p class="serif">{t('warm.then', { set: `${load(now.set.load)} × ${now.set.reps}` })}</p>
          <Notes list={floor.notes} />
          <Cautions list={floor.plan?.cautions ?? []} />
          <div class="actions">
            <button type="button" class="first" onClick={() => setWarm(warmKey)}>{t('warm.done')}</button>
          </div>
          {restLine}
        </>
      ) : (
        <>
          <p class="this-set" aria-label={t('this.set')}>
            <span class="big">{num(now.set.load.amount, 2)}<span class="unit">{t(`unit.${now.set.load.unit}`)}</span></span>
            <span class="big">
              {num(planned)}<span class="unit">{t('reps', { n: planned })}</span>
            </span>
          </p>
          {now.set.plates.length > 0 && <p class="each-side">{t('plates.side', { plates: plates(now.set.plates) })}</p>}
          <div class="notice cue serif">
            <p class="lead">
              {now.set.to_failure ? t('cue.failure') : now.set.stop_cue ? t('cue.stop', { called: now.set.stop_cue.called, n: planned }) : t('cue.reps', { n: planned })}
            </p>
            <p class="small soft">
              {t('cue.left', { n: num(now.set.reserve.median, 0), range: range(Math.max(0, now.set.reserve.lo80), now.set.reserve.hi80, 0) })}{' '}
              {t('cue.miss', { p: chance(now.set.p_miss) })}
            </p>
          </div>
          <Vessels sets={row} label={t('vessel.row', { name: now.item.name })} height={84} width={328} scale={tallest(row)} />
          {restLine}
          <div class="ask">
            <h3>{t('reps.done')}</h3>
          </div>
          <div class="keys six" role="group" aria-label={t('reps.done')}>
            {(reps !== undefined && !repChoices(planned).includes(reps) ? repChoices(Math.max(2, reps)) : repChoices(planned)).map((n) => (
              <button key={n} type="button" class="figure" aria-pressed={n === chosen} onClick={() => setReps(n)}>{num(n)}</button>
            ))}
            <button type="button" class="small" onClick={() => setOpen('reps')}>{t('reps.other')}</button>
          </div>
          <div class="ask">
            <h3>{t('how.many.more')}</h3>
            {floor.answers_in_halves ? (
              <button type="button" class="plain small" aria-pressed={half} onClick={() => setHalf(!half)}>{t('half.more')}</button>
            ) : (
              <span class="small soft">{t('this.logs')}</span>
            )}
          </div>
          <div class="keys" role="group" aria-label={t('how.many.more.say', { n: chosen })}>
            {[0, 1, 2, 3, 4].map((n) => (
              <button key={n} type="button" class="figure" onClick={() => log({ called: callOf(n) })}>{num(Number(callOf(n)))}</button>
            ))}
          </div>
          <div class="keys four">
            <button type="button" class="figure" onClick={() => log({ called: '5+' })}>5+</button>
            <button type="button" onClick={() => log({ called: null, failed: true, ...(reps === undefined && !now.set.to_failure ? { reps: planned - 1 } : {}) })}>{t('missed')}</button>
            <button type="button" onClick={() => log({ called: null })}>{t('no.call')}</button>
            <button type="button" onClick={() => setOpen('pain')}>{t('pain')}</button>
          </div>
          {v!.behind && <p class="small soft">{t('floor.behind', { time: time(s.heard) })}</p>}
        </>
      )}
      <div class="floor-line">
        <button type="button" class="plain" onClick={() => setOpen('swap')}>{t('swap')}</button>
        <button type="button" class="plain" onClick={() => setOpen('finish')}>{t('finish.early')}</button>
      </div>
      {!warming && (
        <Why of={now.item.name}>
          <Notes list={floor.notes} />
          <Said as="p" of={now.item.why} />
          {now.item.remarks.map((r, i) => <Said key={i} as="p" of={r} />)}
        </Why>
      )}
    </>,
  );
}

// What the day is: a lighter week, a day the plan leaves free. A session kept from before has none.
function Notes({ list }: { list?: string[] }) {
  return <>{list?.map((n) => <Said key={n} as="p" class="serif" of={n} />)}</>;
}

function Cautions({ list }: { list: string[] }) {
  if (!list.length) return null;
  return (
    <div class="notice small">
      {list.map((c, i) => <Said key={i} as="p" of={c} />)}
    </div>
  );
}

function Start({ floor, storeKey, again }: { floor: Floor; storeKey: string; again: () => void }) {
  const [error, setError] = useState<unknown>();
  const [busy, setBusy] = useState(false);
  const start = async () => {
    setBusy(true);
    setError(undefined);
    try {
      const answer = await ask('POST /api/lifters/{lifter}/floor/start', {
        path: { lifter: floor.id },
        body: { date: floor.date, session: floor.session },
      });
      store(storeKey, { floor: answer.floor, heard: Date.now(), waiting: current(storeKey)?.waiting ?? [] });
    } catch (e) {
      setError(e);
    }
    setBusy(false);
  };
  if (error instanceof Refusal && error.code === 'not_fitted') return <FitNow lifter={floor.id} done={() => void start()} />;
  if (error instanceof Refusal && error.detail.holds?.length) return <Holds holds={error.detail.holds} name={floor.lifter} />;
  if (!floor.fitted) return <FitNow lifter={floor.id} done={again} />;
  return (
    <div class="empty">
      <p class="lead">{floor.plan ? t('floor.ready', { n: floor.plan.items.length, minutes: num(floor.plan.minutes, 0) }) : t('floor.none')}</p>
      {floor.plan && (
        <ol class="serif">
          {floor.plan.items.map((i) => <li key={i.exercise + i.side}>{i.name}</li>)}
        </ol>
      )}
      <Notes list={floor.notes} />
      {floor.no_next && !floor.plan && <Said as="p" class="soft" of={floor.no_next} />}
      {error !== undefined && <Failure error={error} />}
      <div class="actions">
        <button type="button" class="first" disabled={busy} onClick={() => void start()}>{t('floor.start')}</button>
        <a class="key" href={`#/sheet/${encodeURIComponent(floor.id)}`}>{t('sheet')}</a>
      </div>
      <Cautions list={floor.plan?.cautions ?? floor.gate.cautions} />
    </div>
  );
}

function Over({ s, why, reopen, undo }: { s: Session; why: string; reopen: () => void; undo?: () => void }) {
  const v = view(s);
  const groups = new Map<string, DoneHere[]>();
  for (const d of v.done) {
    const id = `${d.set.exercise}/${d.set.side}`;
    groups.set(id, [...(groups.get(id) ?? []), d]);
  }
  const nameOf = (id: string) => {
    const d = groups.get(id)![0]!;
    const stored = s.floor.done.find((x) => x.set.exercise === d.set.exercise)?.set.name;
    return stored ?? d.set.exercise;
  };
  const work = v.done.filter((d) => d.set.kind !== 'warmup');
  return (
    <>
      <h3 class="over">{work.length ? t('over.title', { n: work.length }) : t('over.none')}</h3>
      {why && <Said as="p" class="serif" of={why} />}
      {[...groups.keys()].map((id) => (
        <div key={id}>
          <h4>{nameOf(id)}</h4>
          <Vessels sets={groups.get(id)!.map(vesselOfDone)} label={nameOf(id)} height={72} table />
        </div>
      ))}
      <div class="actions">
        {undo && <button type="button" onClick={undo}>{t('over.undo')}</button>}
        {v.finished && <button type="button" onClick={reopen}>{t('over.reopen')}</button>}
        <a class="key" href={`#/lifter/${encodeURIComponent(s.floor.id)}`}>{t('over.lifter')}</a>
      </div>
      {work.length > 0 && <Cautions list={(s.floor.plan?.cautions ?? s.floor.gate.cautions).slice(-1)} />}
    </>
  );
}

function Swap({ floor, exercise, name, side, storeKey, close }: {
  floor: Floor;
  exercise: string;
  name: string;
  side: 'both' | 'left' | 'right';
  storeKey: string;
  close: () => void;
}) {
  type Near = Awaited<ReturnType<typeof fetchNear>>;
  const fetchNear = () =>
    ask('GET /api/lifters/{lifter}/floor/alternatives', { path: { lifter: floor.id }, query: { exercise, date: floor.date, session: floor.session }, timeout: 8000 });
  const [near, setNear] = useState<Near>();
  const [error, setError] = useState<unknown>();
  const [busy, setBusy] = useState(false);
  useEffect(() => void fetchNear().then(setNear, setError), []);
  const take = async (other: string) => {
    setBusy(true);
    try {
      const answer = await ask('POST /api/lifters/{lifter}/floor/swap', {
        path: { lifter: floor.id },
        body: { exercise, side, with: other, date: floor.date, session: floor.session },
      });
      change(storeKey, (x) => ({ ...x, floor: answer.floor, heard: Date.now(), chosen: { exercise: other, side } }));
      close();
      tellAll(t('swapped', { name }), answer.change);
    } catch (e) {
      setError(e);
      setBusy(false);
    }
  };
  return (
    <Dialog title={t('swap.title', { name })} close={close}>
      {error !== undefined && <Failure error={error} />}
      {!near && error === undefined && <Loading />}
      {near && near.exercises.length === 0 && <p class="serif">{t('swap.none')}</p>}
      <div class="stack">
        {near?.exercises.slice(0, 8).map((e) => (
          <button key={e.exercise} type="button" disabled={busy} onClick={() => void take(e.exercise)}>{e.name}</button>
        ))}
        <button type="button" class="plain start" onClick={close}>{t('cancel')}</button>
      </div>
    </Dialog>
  );
}

function Pain({ name, reps, out, log, close }: {
  name: string;
  reps: number;
  out: (note: string) => void;
  log: (note: string) => void;
  close: () => void;
}) {
  const [note, setNote] = useState('');
  return (
    <Dialog title={t('pain.title', { name })} close={close}>
      <p class="serif">{t('pain.text')}</p>
      <label class="field">
        <span>{t('pain.note')}</span>
        <input value={note} onInput={(e) => setNote(e.currentTarget.value)} maxLength={200} />
      </label>
      <div class="stack actions">
        <button type="button" class="danger" onClick={() => out(note)}>{t('pain.out')}</button>
        <button type="button" class="danger" onClick={() => log(note)}>{t('pain.log', { n: reps })}</button>
        <button type="button" class="plain start" onClick={close}>{t('cancel')}</button>
      </div>
      <p class="small harm">{t('pain.help')}</p>
    </Dialog>
  );
}

function Whole({ s, choose, close }: { s: Session; choose: (exercise: string, side: 'both' | 'left' | 'right') => void; close: () => void }) {
  const v = view(s);
  return (
    <Dialog title={t('floor.whole')} close={close}>
      {v.items.length === 0 && <p class="serif">{t('floor.nothing.left')}</p>}
      <div class="stack">
        {v.items.map((i) => {
          const sets = i.sets.filter((x) => x.kind !== 'warmup');
          return (
            <button key={i.exercise + i.side} type="button" aria-current={v.now && same(v.now.item, i) ? 'true' : undefined}
              onClick={() => choose(i.exercise, i.side)}>
              <span>
                {i.name} <span class="soft">{sets.map((x) => `${num(x.load.amount, 2)} × ${x.reps}`).join(', ')}</span>
              </span>
            </button>
          );
        })}
        <button type="button" class="plain start" onClick={close}>{t('close')}</button>
      </div>
      {(s.floor.plan?.left_out ?? []).map((l) => (
        <p key={l.exercise} class="small soft">{l.name ?? l.exercise}: <Said of={l.reason} /></p>
      ))}
    </Dialog>
  );
}

// One lifter, or several side by side.
export function FloorPage({ lifters, version }: { lifters: string[]; version: number }) {
  const [front, setFront] = useState(0);
  const [names, setNames] = useState<Record<string, string>>({});
  const date = localDay();
  useEffect(() => {
    for (const key of keysWithWaiting(date)) void push(key);
  }, []);
  useEffect(
    () =>
      onSession(() => {
        const found: Record<string, string> = {};
        for (const l of lifters) {
          const s = current(keyOf(l, date));
          if (s) found[l] = s.floor.lifter;
        }
        setNames(found);
      }),
    [lifters.join()],
  );
  const many = lifters.length > 1;
  return (
    <>
      {many && (
        <div class="floor-switch" role="group" aria-label={t('floor.who')}>
          {lifters.map((l, i) => (
            <button key={l} type="button" aria-pressed={i === front} onClick={() => setFront(i)}>{names[l] ?? l}</button>
          ))}
        </div>
      )}
      <div class={many ? 'floors many' : 'floors'}>
        {lifters.map((l, i) => <Lane key={l} lifter={l} date={date} label="" many={many} version={version} behind={many && i !== front} />)}
      </div>
    </>
  );
}

// Who trains today: choose one or several.
export function FloorChoice() {
  const [sessions, setSessions] = useState<FloorSession[]>();
  const [roster, setRoster] = useState<{ id: string; lifter: string }[]>();
  const [error, setError] = useState<unknown>();
  const [q, setQ] = useState('');
  const [picked, setPicked] = useState<string[]>([]);
  useEffect(() => {
    ask('GET /api/floor', { query: { date: localDay() } }).then((a) => setSessions(a.sessions), setError);
  }, []);
  useEffect(() => {
    const timer = setTimeout(() => {
      ask('GET /api/roster', { query: { q, sort: 'name', limit: 30 } }).then((a) => setRoster(a.lifters), setError);
    }, q ? 120 : 0); // while a name is typed
    return () => clearTimeout(timer);
  }, [q]);
  const open = (ids: string[]) => (location.hash = `#/floor/${ids.map(encodeURIComponent).join(',')}`);
  const toggle = (id: string) => setPicked((p) => (p.includes(id) ? p.filter((x) => x !== id) : [...p, id]));
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('floor.title')}</h1>
      <p class="lead">{t('floor.choose')}</p>
      {error !== undefined && <Failure error={error} />}
      {sessions && sessions.length > 0 && (
        <>
          <h2>{t('floor.today')}</h2>
          <ul class="plain-list">
            {sessions.map((s) => (
              <li key={s.id + s.session}>
                <a class="name-cell" href={`#/floor/${encodeURIComponent(s.id)}`}>{s.lifter}</a>{' '}
                <span class="soft">{s.finished ? t('floor.finished') : s.sets ? t('sets', { n: s.sets }) : t('floor.not.started')}</span>
              </li>
            ))}
          </ul>
        </>
      )}
      <h2>{t('floor.pick')}</h2>
      <label class="field">
        <span>{t('search.lifter')}</span>
        <input type="search" value={q} onInput={(e) => setQ(e.currentTarget.value)} />
      </label>
      <ul class="plain-list">
        {roster?.map((r) => (
          <li key={r.id}>
            <label class="choice">
              <input type="checkbox" checked={picked.includes(r.id)} onChange={() => toggle(r.id)} />
              <span class="name-cell">{r.lifter}</span>
            </label>
          </li>
        ))}
      </ul>
      <div class="actions stick">
        <button type="button" class="first" disabled={!picked.length} onClick={() => open(picked)}>
          {picked.length > 1 ? t('floor.open.many', { n: picked.length }) : t('floor.open')}
        </button>
      </div>
    </main>
  );
}

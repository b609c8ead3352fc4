// Rules of a block that need more than a name, and what comes between: a stay elsewhere, the way back after illness or
// injury, an exercise that is out for a time.
import { useState } from 'preact/hooks';
import type { ComponentChildren } from 'preact';
import { ask } from '../api/client';
import type { BlockWish, Exercise } from '../api/types';
import { Check, Choice, Dialog, Failure, TextField } from '../design/parts';
import { day, num, readNumber } from '../format';
import { t, type TextKey } from '../text';
import { useAsk } from '../use';
import { weekdayName, weekdays } from './plan-days';

export const muscles = ['chest', 'front shoulder', 'side shoulder', 'rear shoulder', 'triceps', 'biceps', 'forearm', 'upper back', 'lats', 'lower back', 'abdominals', 'glutes', 'quadriceps', 'hamstrings', 'adductors', 'abductors', 'calves', 'neck'];
export type Rules = Pick<BlockWish, 'order' | 'tests' | 'fixed' | 'muscles' | 'balance' | 'travel' | 'coming_back'>;
interface Part {
  rules: Rules;
  set: (rules: Rules) => void;
  library: Exercise[];
}

const nameIn = (library: Exercise[], id: string) => library.find((e) => e.exercise === id)?.name ?? id;

export function ExerciseChoice({ label, library, value, set }: { label: string; library: Exercise[]; value: string; set: (id: string) => void }) {
  return <Choice label={label} value={value} set={set} options={[['', t('plan.choose')], ...library.map((e): [string, string] => [e.exercise, e.name])]} />;
}

// What is on a list, each with a way off it, and below it what the next is made of.
export function Entries<T>({ label, list, say, set, ready, add, children }: {
  label: string;
  list: T[];
  say: (item: T) => string;
  set: (list: T[]) => void;
  ready: boolean;
  add: () => void;
  children: ComponentChildren;
}) {
  return (
    <fieldset class="some-exercises">
      <legend>{label}</legend>
      {list.length > 0 && (
        <ul>
          {list.map((item, i) => (
            <li key={say(item)}>
              {say(item)}{' '}
              <button type="button" class="plain" onClick={() => set(list.filter((_, k) => k !== i))}>{t('plan.take.off')}<span class="unseen"> {say(item)}</span></button>
            </li>
          ))}
        </ul>
      )}
      <div class="line end">
        {children}
        <button type="button" disabled={!ready} onClick={add}>{t('plan.add')}<span class="unseen">: {label}</span></button>
      </div>
    </fieldset>
  );
}

const whole = (text: string, from: number, to: number): number | undefined => {
  const n = readNumber(text);
  return n !== undefined && Number.isInteger(n) && n >= from && n <= to ? n : undefined;
};

function Fixed({ rules, set, library }: Part) {
  const list = rules.fixed ?? [];
  const [exercise, setExercise] = useState('');
  const [weekday, setWeekday] = useState('1');
  const [sets, setSets] = useState('');
  const bad = !!sets && whole(sets, 1, 10) === undefined;
  return (
    <Entries label={t('plan.fixed')} list={list} ready={!!exercise && !bad}
      say={(f) => `${nameIn(library, f.exercise)}, ${weekdayName(f.weekday)}${f.sets ? `, ${t('sets', { n: f.sets })}` : ''}`}
      set={(fixed) => set({ ...rules, fixed })}
      add={() => (set({ ...rules, fixed: [...list, { exercise, weekday: Number(weekday), ...(sets ? { sets: whole(sets, 1, 10)! } : {}) }] }), setExercise(''), setSets(''))}>
      <ExerciseChoice label={t('exercise')} library={library} value={exercise} set={setExercise} />
      <Choice label={t('plan.day')} value={weekday} set={setWeekday} options={weekdays.map((n): [string, string] => [String(n), weekdayName(n)])} />
      <TextField label={t('plan.sets')} inputMode="numeric" value={sets} set={setSets} fault={bad ? t('plan.whole.fault', { from: 1, to: 10 }) : undefined} />
    </Entries>
  );
}

function Tests({ rules, set, library }: Part) {
  const list = rules.tests ?? [];
  const [exercise, setExercise] = useState('');
  const [week, setWeek] = useState('6');
  const n = whole(week, 1, 12);
  return (
    <Entries label={t('plan.tests')} list={list} ready={!!exercise && n !== undefined} say={(x) => `${nameIn(library, x.exercise)}, ${t('plan.week.n', { n: x.week })}`}
      set={(tests) => set({ ...rules, tests })} add={() => (set({ ...rules, tests: [...list, { exercise, week: n! }] }), setExercise(''))}>
      <ExerciseChoice label={t('exercise')} library={library} value={exercise} set={setExercise} />
      <TextField label={t('plan.in.week')} inputMode="numeric" value={week} set={setWeek} fault={n === undefined ? t('plan.weeks.fault') : undefined} />
    </Entries>
  );
}

function Order({ rules, set, library }: Part) {
  const list = rules.order ?? [];
  const [first, setFirst] = useState('');
  const [then, setThen] = useState('');
  return (
    <Entries label={t('plan.order')} list={list} ready={!!first && !!then && first !== then}
      say={(o) => t('plan.order.say', { first: nameIn(library, o.first), then: nameIn(library, o.then) })}
      set={(order) => set({ ...rules, order })} add={() => (set({ ...rules, order: [...list, { first, then }] }), setFirst(''), setThen(''))}>
      <ExerciseChoice label={t('plan.order.first')} library={library} value={first} set={setFirst} />
      <ExerciseChoice label={t('plan.order.then')} library={library} value={then} set={setThen} />
    </Entries>
  );
}

// What two fields say of the sets of a muscle a week: the limits, or what is wrong with them.
export function muscleLimits(least: string, most: string): { limits?: { least_week?: number; most_week?: number }; least?: string; most?: string } {
  const low = least.trim() ? whole(least, 1, 40) : 0;
  const high = most.trim() ? whole(most, 1, 60) : 60;
  if (low === undefined) return { least: t('plan.whole.fault', { from: 1, to: 40 }) };
  if (high === undefined) return { most: t('plan.whole.fault', { from: 1, to: 60 }) };
  if (low > high) return { most: t('plan.muscle.fault') };
  return low || most.trim() ? { limits: { ...(low ? { least_week: low } : {}), ...(most.trim() ? { most_week: high } : {}) } } : {};
}

function Muscles({ rules, set }: Part) {
  const list = rules.muscles ?? [];
  const [muscle, setMuscle] = useState('');
  const [least, setLeast] = useState('');
  const [most, setMost] = useState('');
  const said = muscleLimits(least, most);
  const name = (m: string) => t(`muscle.${m}` as TextKey);
  return (
    <Entries label={t('plan.muscles')} list={list} ready={!!muscle && !!said.limits}
      say={(m) => [name(m.muscle), m.least_week && t('plan.muscle.at.least', { n: m.least_week }), m.most_week && t('plan.muscle.at.most', { n: m.most_week })].filter(Boolean).join(', ')}
      set={(next) => set({ ...rules, muscles: next })}
      add={() => (set({ ...rules, muscles: [...list, { muscle, ...said.limits }] }), setMuscle(''), setLeast(''), setMost(''))}>
      <Choice label={t('plan.muscle')} value={muscle} set={setMuscle}
        options={[['', t('plan.choose')], ...muscles.filter((m) => !list.some((x) => x.muscle === m)).map((m): [string, string] => [m, name(m)])]} />
      <TextField label={t('plan.muscle.least')} inputMode="numeric" value={least} set={setLeast} fault={said.least} />
      <TextField label={t('plan.muscle.most')} inputMode="numeric" value={most} set={setMost} fault={said.most} />
    </Entries>
  );
}

// The two that are asked for most; any other stands in a request as text.
const balances = [
  { key: 'plan.balance.pull', of: ['chest', 'front shoulder', 'triceps'], against: ['lats', 'upper back', 'rear shoulder', 'biceps'] },
  { key: 'plan.balance.legs', of: ['quadriceps'], against: ['hamstrings', 'glutes'] },
] as const;

function Balance({ rules, set }: Part) {
  const list = rules.balance ?? [];
  return (
    <fieldset>
      <legend>{t('plan.balance')}</legend>
      {balances.map((b) => (
        <Check key={b.key} label={t(b.key)} checked={list.some((x) => x.of[0] === b.of[0])}
          set={(on) => set({ ...rules, balance: on ? [...list, { of: [...b.of], against: [...b.against], ratio: 1 }] : list.filter((x) => x.of[0] !== b.of[0]) })} />
      ))}
    </fieldset>
  );
}

type Stay = NonNullable<BlockWish['travel']>[number];
type Back = NonNullable<BlockWish['coming_back']>;

// From when to when, and where; `done` gets it once it makes sense.
function useStay() {
  const places = useAsk(() => ask('GET /api/places'), '').data?.places ?? [];
  const [from, setFrom] = useState('');
  const [until, setUntil] = useState('');
  const [place, setPlace] = useState('');
  const [days, setDays] = useState<number[]>([]);
  const [minutes, setMinutes] = useState('45');
  const long = readNumber(minutes) ?? 0;
  const fault = { until: from && until && until < from ? t('plan.until.fault') : undefined, minutes: days.length && !(long >= 5 && long <= 300) ? t('plan.days.fault') : undefined };
  const stay: Stay | undefined = from && until && !fault.until && !fault.minutes
    ? { from, until, ...(place ? { place } : {}), ...(days.length ? { days: days.map((weekday) => ({ weekday, minutes: long })) } : {}) } : undefined;
  const fields = (
    <>
      <TextField label={t('plan.from')} type="date" value={from} set={setFrom} />
      <TextField label={t('plan.until')} type="date" value={until} set={setUntil} fault={fault.until} />
      <Choice label={t('plan.place')} value={place} set={setPlace} options={[['', t('plan.place.usual')], ...places.map((p): [string, string] => [p.place, p.name])]} />
      <div class="field">
        <span class="label">{t('plan.stay.days')}</span>
        <div class="day-row">
          {weekdays.map((n) => <Check key={n} label={weekdayName(n)} checked={days.includes(n)} set={(on) => setDays(on ? [...days, n].sort() : days.filter((x) => x !== n))} />)}
        </div>
      </div>
      {days.length > 0 && <TextField label={t('plan.stay.minutes')} inputMode="numeric" value={minutes} set={setMinutes} fault={fault.minutes} />}
    </>
  );
  const clear = () => (setFrom(''), setUntil(''), setPlace(''), setDays([]));
  const say = (s: Stay) => `${day(s.from)} – ${day(s.until)}${s.place ? `, ${places.find((p) => p.place === s.place)?.name ?? s.place}` : ''}${s.days?.length ? `, ${s.days.map((d) => weekdayName(d.weekday)).join(' ')}` : ''}`;
  return { stay, fields, clear, say };
}

function Away({ rules, set }: Part) {
  const list = rules.travel ?? [];
  const { stay, fields, clear, say } = useStay();
  return (
    <Entries label={t('plan.away')} list={list} ready={!!stay} say={say} set={(travel) => set({ ...rules, travel })}
      add={() => stay && (set({ ...rules, travel: [...list, stay] }), clear())}>
      {fields}
    </Entries>
  );
}

function useBack() {
  const [from, setFrom] = useState('');
  const [weeks, setWeeks] = useState('2');
  const [share, setShare] = useState('50');
  const [why, setWhy] = useState('');
  const n = whole(weeks, 1, 12);
  const first = readNumber(share) ?? 0;
  const bad = !(first >= 10 && first <= 100);
  const back: Back | undefined = from && n && !bad ? { from, weeks: n, first_share: first / 100, ...(why ? { why } : {}) } : undefined;
  const fields = (
    <>
      <TextField label={t('plan.back.from')} type="date" value={from} set={setFrom} />
      <TextField label={t('plan.back.weeks')} inputMode="numeric" value={weeks} set={setWeeks} fault={n === undefined ? t('plan.weeks.fault') : undefined} />
      <TextField label={t('plan.back.share')} inputMode="numeric" value={share} set={setShare} fault={bad ? t('plan.whole.fault', { from: 10, to: 100 }) : undefined} />
      <TextField label={t('plan.why')} value={why} set={setWhy} />
    </>
  );
  return { back, fields };
}

function ComingBack({ rules, set }: Part) {
  const { back, fields } = useBack();
  return (
    <Entries label={t('plan.back')} list={rules.coming_back ? [rules.coming_back] : []} ready={!!back}
      say={(b) => t('plan.back.say', { from: day(b.from), n: b.weeks ?? 2, share: num(100 * (b.first_share ?? 0.5), 0) })}
      set={() => set({ ...rules, coming_back: undefined })} add={() => set({ ...rules, coming_back: back })}>
      {fields}
    </Entries>
  );
}

export function RuleFields(part: Part) {
  return (
    <>
      <Fixed {...part} />
      <Order {...part} />
      <Tests {...part} />
      <Muscles {...part} />
      <Balance {...part} />
      <Away {...part} />
      <ComingBack {...part} />
    </>
  );
}

// Something came between: the accepted plan is worked out again around it, as a proposal.
export function CameBetween({ today, plan, close }: { today: string; plan: (wish: BlockWish) => void; close: () => void }) {
  const library = useAsk(() => ask('GET /api/exercises', { query: { limit: 1000 } }), '');
  const [kind, setKind] = useState<'away' | 'back' | 'out'>('away');
  const stay = useStay();
  const back = useBack();
  const [exercise, setExercise] = useState('');
  const [until, setUntil] = useState('');
  const [why, setWhy] = useState('');
  const early = until && until < today ? t('plan.until.fault') : undefined;
  const wish: BlockWish | undefined =
    kind === 'away' ? stay.stay && { travel: [stay.stay] }
    : kind === 'back' ? back.back && { coming_back: back.back }
    : exercise && !early ? { out: { exercise, from: today, ...(until ? { until } : {}), ...(why ? { why } : {}) } } : undefined;
  return (
    <Dialog title={t('plan.between')} close={close}>
      <p>{t('plan.between.text')}</p>
      <div class="fields">
        <Choice label={t('plan.between.what')} value={kind} set={(v) => setKind(v as typeof kind)}
          options={[['away', t('plan.away')], ['back', t('plan.back')], ['out', t('plan.out')]]} />
        {kind === 'away' && stay.fields}
        {kind === 'back' && back.fields}
        {kind === 'out' && (
          <>
            {library.error !== undefined && <Failure error={library.error} />}
            <ExerciseChoice label={t('exercise')} library={library.data?.exercises ?? []} value={exercise} set={setExercise} />
            <TextField label={t('plan.out.until')} type="date" value={until} set={setUntil} fault={early} />
            <TextField label={t('plan.why')} value={why} set={setWhy} />
          </>
        )}
      </div>
      {kind === 'out' && <p class="small soft">{t('plan.out.pain')}</p>}
      <div class="actions">
        <button type="button" class="first" disabled={!wish} onClick={() => wish && plan(wish)}>{t('plan.between.make')}</button>
        <button type="button" onClick={close}>{t('cancel')}</button>
      </div>
    </Dialog>
  );
}

// What is asked of a block: weeks and days, what matters, rules, and what it costs.
import { useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { BlockWish, Blocks, Exercise, LifterPage } from '../api/types';
import { Check, Choice, Field, Loading, Said, TextField, useSaid } from '../design/parts';
import { readNumber } from '../format';
import { t, type TextKey } from '../text';
import { useAsk } from '../use';
import { weekdayName, weekdays } from './plan-days';
import { Entries, ExerciseChoice, RuleFields, muscles, type Rules } from './plan-rules';

// Trained in any case; the others only where they are a goal.
const main = muscles.filter((m) => !['forearm', 'lower back', 'adductors', 'abductors', 'neck'].includes(m));
const usualDays = [[], [1], [1, 4], [1, 3, 5], [1, 2, 4, 5], [1, 2, 3, 5, 6], [1, 2, 3, 4, 5, 6], [1, 2, 3, 4, 5, 6, 7]];
// Of one per cent of strength lost, in units of the effect; each twice the one before.
export const prices = [0.0025, 0.005, 0.01, 0.02, 0.04, 0.08];

interface AskProps {
  page: LifterPage;
  data: Blocks;
  template: string;
  busy: boolean;
  plan: (wish: BlockWish) => Promise<void>;
  close?: () => void;
}
export function AskForm({ page, data, template: given, busy, plan, close }: AskProps) {
  const said = useSaid();
  const asked = useAsk(() => ask('GET /api/templates'), '');
  const templates = asked.data?.templates ?? [];
  const library = useAsk(() => ask('GET /api/exercises', { query: { limit: 1000 } }), '').data?.exercises ?? [];
  const [template, setTemplate] = useState(given);
  const [weeks, setWeeks] = useState('6');
  const [own, setOwn] = useState(false);
  const minutes = String(page.profile.minutes_per_session || 60);
  const [days, setDays] = useState<Record<number, string>>(() => Object.fromEntries((usualDays[page.profile.days_per_week || 3] ?? [1, 3, 5]).map((n) => [n, minutes])));
  const [goals, setGoals] = useState<string[]>([]);
  const [lifts, setLifts] = useState<string[]>([]);
  const [must, setMust] = useState<string[]>([]);
  const [ban, setBan] = useState<string[]>([]);
  const [lighter, setLighter] = useState('');
  const [target, setTarget] = useState('');
  const [kind, setKind] = useState('');
  const [most, setMost] = useState('');
  const [alternate, setAlternate] = useState(false);
  const [readings, setReadings] = useState(() => data.readings.map((r) => r.name));
  const [price, setPrice] = useState(2);
  const [rules, setRules] = useState<Rules>({});
  const chosen = templates.find((x) => x.name === template);
  const ownDays = !template || own;
  const count = readNumber(weeks) ?? 0;
  const lightWeeks = lighter.split(/[\s;,]+/).filter(Boolean).map(Number);
  const faults = {
    weeks: ownDays && !(Number.isInteger(count) && count >= 1 && count <= 12) ? t('plan.weeks.fault') : undefined,
    days: ownDays && (!Object.keys(days).length || Object.values(days).some((m) => !((readNumber(m) ?? 0) >= 5 && readNumber(m)! <= 300))) ? t('plan.days.fault') : undefined,
    lighter: lightWeeks.every((n) => Number.isInteger(n) && n >= 1 && n <= 12) ? undefined : t('plan.lighter.fault'),
    most: most && !((readNumber(most) ?? 0) >= 1 && readNumber(most)! <= 60) ? t('plan.most.fault') : undefined,
    target: !!target !== !!kind ? t('plan.target.fault') : undefined,
    readings: readings.length ? undefined : t('plan.readings.fault'),
  };
  const bad = Object.values(faults).some(Boolean);
  const send = (e: Event) => {
    e.preventDefault();
    if (bad || busy) return;
    const wish: BlockWish = { ...rules, anew: true, price: prices[price]! };
    if (template) wish.template = template;
    if (ownDays) {
      wish.weeks = count;
      wish.days = Object.entries(days).map(([n, m]) => ({ weekday: Number(n), minutes: readNumber(m)! }));
    }
    if (goals.length) wish.goals = muscles.filter((m) => goals.includes(m) || main.includes(m)).map((muscle) => ({ muscle, weight: goals.includes(muscle) ? 2 : 1 }));
    if (lifts.length) wish.strength = lifts;
    if (must.length) wish.must = must;
    if (ban.length) wish.ban = ban;
    if (lightWeeks.length) wish.lighter_weeks = lightWeeks;
    if (target) wish.target = { date: target, kind: kind as 'meet' | 'photo' };
    if (most) wish.most_week = readNumber(most)!;
    if (alternate) wish.alternate = true;
    if (readings.length < data.readings.length) wish.readings = readings;
    void plan(wish);
  };
  const toggle = (list: string[], item: string, on: boolean) => (on ? [...list, item] : list.filter((x) => x !== item));
  if (!asked.data && !asked.error) return <Loading />;
  return (
    <form class="ask-plan" onSubmit={send}>
      <h2>{t('plan.ask')}</h2>
      <p>{t('plan.ask.text')}</p>
      <div class="fields">
        <Choice label={t('plan.template')} value={template} set={setTemplate}
          options={[['', t('plan.template.none')], ...templates.map((x): [string, string] => [x.name, said(x.title || x.name).text])]}
          hint={chosen ? `${chosen.about} ${t('plan.template.size', { weeks: chosen.weeks, n: chosen.days })}` : undefined} />
        {template && <Check label={t('plan.own.days')} checked={own} set={setOwn} />}
        {ownDays && <TextField label={t('plan.weeks')} inputMode="numeric" value={weeks} set={setWeeks} fault={faults.weeks} />}
      </div>
      {ownDays && (
        <fieldset>
          <legend>{t('plan.days')}</legend>
          <div class="day-row">
            {weekdays.map((n) => (
              <div key={n} class="day-of">
                <Check label={weekdayName(n)} checked={n in days}
                  set={(on) => setDays((d) => (on ? { ...d, [n]: minutes } : Object.fromEntries(Object.entries(d).filter(([k]) => Number(k) !== n))))} />
                {n in days && (
                  <input inputMode="numeric" aria-label={t('plan.minutes.of', { day: weekdayName(n) })} value={days[n]}
                    onInput={(e) => { const v = e.currentTarget.value; setDays((d) => ({ ...d, [n]: v })); }} />
                )}
              </div>
            ))}
          </div>
          {faults.days && <p class="fault">{faults.days}</p>}
        </fieldset>
      )}
      <fieldset>
        <legend>{t('plan.goals')}</legend>
        <div class="day-row">
          {muscles.map((m) => <Check key={m} label={t(`muscle.${m}` as TextKey)} checked={goals.includes(m)} set={(on) => setGoals(toggle(goals, m, on))} />)}
        </div>
      </fieldset>
      <Exercises label={t('plan.strength')} library={library} list={lifts} set={setLifts} />
      <details class="more-rules">
        <summary>{t('plan.rules')}</summary>
        <Exercises label={t('plan.must')} library={library} list={must} set={setMust} />
        <Exercises label={t('plan.ban')} library={library} list={ban} set={setBan} />
        <div class="fields pair">
          <TextField label={t('plan.most')} hint={t('plan.most.hint')} inputMode="decimal" value={most} set={setMost} fault={faults.most} />
          <TextField label={t('plan.lighter')} hint={t('plan.lighter.hint')} value={lighter} set={setLighter} fault={faults.lighter} />
          <Choice label={t('plan.target')} value={kind} set={setKind} options={[['', t('plan.target.none')], ['meet', t('plan.target.meet')], ['photo', t('plan.target.photo')]]} />
          <TextField label={t('plan.target.day')} type="date" value={target} set={setTarget} fault={faults.target} />
        </div>
        <Check label={t('plan.alternate')} checked={alternate} set={setAlternate} />
        <RuleFields rules={rules} set={setRules} library={library} />
        <fieldset>
          <legend>{t('plan.readings.ask')}</legend>
          {data.readings.map((r) => (
            <div key={r.name}>
              <Check label={r.name} checked={readings.includes(r.name)} set={(on) => setReadings(toggle(readings, r.name, on))} />
              <Said as="p" class="small soft" of={r.rests_on} />
            </div>
          ))}
          {faults.readings && <p class="fault">{faults.readings}</p>}
        </fieldset>
      </details>
      <div class="fields"><Price value={price} set={setPrice} /></div>
      <div class="actions">
        <button type="submit" class="first" disabled={bad || busy}>{t('plan.make')}</button>
        {close && <button type="button" onClick={close}>{t('cancel')}</button>}
        <a class="key" href="#/templates">{t('plan.templates')}</a>
      </div>
    </form>
  );
}

function Price({ value, set }: { value: number; set: (n: number) => void }) {
  const words = t(value < 2 ? 'plan.price.low' : value > 2 ? 'plan.price.high' : 'plan.price.usual');
  return (
    <Field label={t('plan.price')} hint={words}>
      {(a) => <input {...a} type="range" min={0} max={prices.length - 1} step={1} value={value} aria-valuetext={words} onInput={(e) => set(Number(e.currentTarget.value))} />}
    </Field>
  );
}

// Some exercises of the library, by name.
function Exercises({ label, library, list, set }: { label: string; library: Exercise[]; list: string[]; set: (list: string[]) => void }) {
  const [next, setNext] = useState('');
  return (
    <Entries label={label} list={list} say={(id) => library.find((e) => e.exercise === id)?.name ?? id} set={set} ready={!!next} add={() => (set([...list, next]), setNext(''))}>
      <ExerciseChoice label={t('exercise')} library={library.filter((e) => !list.includes(e.exercise))} value={next} set={setNext} />
    </Entries>
  );
}

// The session sheet, as on paper: what to load, how far to go, when to stop, and room to write.
import { useEffect, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { PlanItem, PlanSet } from '../api/types';
import { Blank, Empty, Holds, Plates, Said, SaidList, Why } from '../design/parts';
import { Vessels, tallest } from '../design/Vessel';
import { chance, clock, day, load, localDay, num, plates, range } from '../format';
import { link, type Route } from '../router';
import { t } from '../text';
import { useAsk } from '../use';
import { FitNow } from './fit';

export function SheetPage({ route, version }: { route: Route; version: number }) {
  const lifter = route.parts[0] ?? '';
  const [date, setDate] = useState(route.query.get('date') ?? localDay());
  const { data, error, again } = useAsk(() => ask('GET /api/lifters/{lifter}/session', { path: { lifter }, query: { date } }), `${lifter}|${date}|${version}`);
  useEffect(() => {
    document.title = `${t('sheet')}${data ? `, ${data.lifter}, ${day(data.date)}` : ''} · Ullage`;
  }, [data]);
  const frame = (content: preact.ComponentChildren) => <main class="sheet session-sheet" id="main" tabIndex={-1}>{content}</main>;
  if (error instanceof Refusal && error.code === 'not_fitted') return frame(<><h1>{t('sheet')}</h1><FitNow lifter={lifter} done={again} /></>);
  if (error instanceof Refusal && error.detail.holds?.length)
    return frame(
      <>
        <h1>{t('sheet')}</h1>
        <Holds holds={error.detail.holds} name={lifter} />
        <p><a href={link('lifter', lifter, 'health')}>{t('lifter.health')}</a></p>
      </>,
    );
  if (!data) return <Blank error={error} again={again} what={t('sheet.writing')} />;
  return frame(
    <>
      <div class="line spread end">
        <div>
          <h1>{data.lifter}</h1>
          <p class="lead">{t('sheet.head', { date: day(data.date, 'long'), n: data.plan.items.length, minutes: num(data.plan.minutes, 0) })}</p>
          <p class="soft small">
            {data.place.name}{data.place.assumed ? ` (${t('place.assumed')})` : ''}
            {data.repeats ? ` · ${t('sheet.repeats', { date: day(data.repeats) })}` : ''}
          </p>
        </div>
        <div class="line end no-print">
          <label class="field"><span>{t('date')}</span><input type="date" value={date} onInput={(e) => e.currentTarget.value && setDate(e.currentTarget.value)} /></label>
          <button type="button" class="first" onClick={() => print()}>{t('print')}</button>
          <a class="key" href={link('papers', lifter)}>{t('papers')}</a>
          <a class="key" href={link('floor', lifter)}>{t('floor.title')}</a>
        </div>
      </div>
      {data.plan.items.length === 0 && (
        <Empty title={data.why_empty ? <Said of={data.why_empty} /> : t('sheet.nothing')}>
          <a class="key" href={link('floor', lifter)}>{t('floor.title')}</a>
        </Empty>
      )}
      {data.steered.map((s, i) => <Said key={i} as="p" class="serif" of={s} />)}
      {data.proposals.length > 0 && (
        <p class="serif no-print">
          {data.proposals.map((p) => (p.kind === 'stall' ? t('steer.stall', { name: p.name ?? '' }) : t('steer.lighter', { from: day(p.from, 'weekday'), until: day(p.until, 'weekday') }))).join('. ')}.{' '}
          <a href={link('lifter', lifter)}>{t('steer.part')}</a>
        </p>
      )}
      {data.plan.items.map((item, i) => <Item key={item.exercise + item.side} item={item} number={i + 1} />)}
      {data.plan.left_out.length > 0 && (
        <>
          <h2>{t('sheet.left.out')}</h2>
          {data.plan.left_out.map((l) => <p key={l.exercise}>{l.name ?? l.exercise}: <Said of={l.reason} /></p>)}
        </>
      )}
      <section class="keep cautions">
        <h2>{t('sheet.cautions')}</h2>
        <SaidList list={data.plan.cautions} />
        <p class="small soft">{t('vessel.legend')}</p>
      </section>
    </>,
  );
}

export function reserveText(s: PlanSet): string {
  return `${num(Math.max(0, s.reserve.median), 0)} (${range(Math.max(0, s.reserve.lo80), Math.max(0, s.reserve.hi80), 0)})`;
}

function Item({ item, number }: { item: PlanItem; number: number }) {
  const work = item.sets.filter((s) => s.kind !== 'warmup');
  const warm = item.sets.filter((s) => s.kind === 'warmup');
  const row = work.map((s) => ({ planned: s.reps, capacity: s.capacity, caption: num(s.load.amount, 2) }));
  const first = work[0];
  return (
    <section class="keep exercise-item">
      <h2>
        {number}. {item.name}{item.side === 'both' ? '' : `, ${t(item.side === 'left' ? 'side.left' : 'side.right')}`}
        <span class="soft light"> {t('sheet.band', { band: range(item.band[0] ?? 0, Math.max(item.band[0] ?? 0, (item.band[1] ?? 0) - 1), 0) })}</span>
      </h2>
      <div class="line spread item-top">
        <p class="figures">
          {warm.length > 0 && (
            <>
              <span class="soft">{t('warm.up')}</span>{' '}
              {warm.map((s) => `${load(s.load)} × ${s.reps}${s.plates.length ? ` (${plates(s.plates)})` : ''}`).join(', ')}
              <br />
            </>
          )}
          <span class="soft">{t('sheet.rest', { rest: clock(work[1]?.rest_s ?? first?.rest_s ?? 0), minutes: num(item.minutes, 0) })}</span>
        </p>
        {first && first.plates.length > 0 && <Plates list={first.plates} />}
      </div>
      <div class="item-body">
        <Vessels sets={row} label={t('vessel.row', { name: item.name })} height={92} width={Math.max(160, work.length * 76)} scale={tallest(row)} />
        <div class="table-scroll" tabIndex={0} role="region" aria-label={item.name}>
          <table class="numeric">
            <thead>
              <tr>
                <th scope="col">{t('set')}</th>
                <th scope="col">{t('load')}</th>
                <th scope="col">{t('at.most')}</th>
                <th scope="col">{t('stop.at')}</th>
                <th scope="col">{t('leaves')}</th>
                <th scope="col">{t('miss')}</th>
                <th scope="col" class="write">{t('write.reps')}</th>
                <th scope="col" class="write">{t('write.called')}</th>
              </tr>
            </thead>
            <tbody>
              {work.map((s, i) => (
                <tr key={i}>
                  <th scope="row">{num(i + 1)}</th>
                  <td>{load(s.load)}</td>
                  <td>{num(s.reps)}</td>
                  <td>{s.to_failure ? t('cue.failure.short') : s.stop_cue ? t('cue.short', { called: s.stop_cue.called }) : '–'}</td>
                  <td>{reserveText(s)}</td>
                  <td>{chance(s.p_miss)}</td>
                  <td class="write" />
                  <td class="write" />
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </div>
      <Said as="p" class="serif item-why" of={item.why} />
      {item.remarks.length > 0 && <Why of={item.name}>{item.remarks.map((r, i) => <Said key={i} as="p" of={r} />)}</Why>}
    </section>
  );
}

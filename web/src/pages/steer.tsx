// What the lifter's data ask for now: a lighter week, another way out of a stall. Each with its reason and the numbers that
// caused it; nothing changes before it is accepted. Below, what was decided before.
import { useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { Steering, SteeringProposal } from '../api/types';
import { Choice, Failure, Holds, Notice, Said, TextField, Why, tell } from '../design/parts';
import { chance, day, fixed, num, range } from '../format';
import { link } from '../router';
import { t } from '../text';
import { useAsk } from '../use';

type Kind = SteeringProposal['kind'];

export function useSteering(lifter: string, version: number) {
  return useAsk(() => ask('GET /api/lifters/{lifter}/steering', { path: { lifter } }), `${lifter}|${version}`);
}

// Nothing on hold and while the estimates are out of date: the pages it stands on say so themselves.
export function SteerPart({ lifter, version, changed }: { lifter: string; version: number; changed: () => void }) {
  const { data, error, again } = useSteering(lifter, version);
  if (error !== undefined && !(error instanceof Refusal && error.code === 'not_fitted')) return <Failure error={error} again={again} />;
  if (!data || data.holds) return null;
  const done = () => (again(), changed());
  return (
    <section class="steer no-print">
      <h2 class="unseen">{t('steer.part')}</h2>
      {data.proposals.map((p) => <Proposal key={p.kind + p.what} data={data} p={p} done={done} />)}
      <Lately data={data} done={done} />
    </section>
  );
}

function Proposal({ data, p, done }: { data: Steering; p: SteeringProposal; done: () => void }) {
  const lighter = p.kind === 'lighter week';
  const title = lighter ? t('steer.lighter', { from: day(p.from, 'weekday'), until: day(p.until, 'weekday') }) : t('steer.stall', { name: name(p) });
  return (
    <Notice title={title}>
      <Said as="p" class="serif" of={p.why} />
      <p>
        {t(lighter ? 'steer.would.be' : 'steer.to.try')} <Said of={p.what} />.{' '}
        <Why of={title}>
          {lighter && data.form && <Numbers form={data.form} />}
          <p>{t(lighter ? 'steer.why.lighter' : 'steer.why.stall')}</p>
          {p.exercise && <p><a href={`${link('lifter', data.id, 'log')}?exercise=${encodeURIComponent(p.exercise)}`}>{t('doubts.look')}</a></p>}
        </Why>
      </p>
      <Decide data={data} kind={p.kind} p={p} done={done} />
    </Notice>
  );
}
const name = (p: SteeringProposal) => `${p.name ?? p.exercise ?? ''}${p.side && p.side !== 'both' ? `, ${t(p.side === 'left' ? 'side.left' : 'side.right')}` : ''}`;

// The coach's word, and the week where it is theirs to choose. Without a proposal: a lighter week all the same.
function Decide({ data, kind, p, done }: { data: Steering; kind: Kind; p?: SteeringProposal; done: () => void }) {
  const weeks = mondays(data.today);
  const [week, setWeek] = useState(p?.from ?? weeks[1]!);
  const [why, setWhy] = useState('');
  const [busy, setBusy] = useState(false);
  const [error, setError] = useState<unknown>();
  const decide = async (how: 'accept' | 'reject') => {
    setBusy(true);
    setError(undefined);
    try {
      const body = { kind, why, ...(p ? { shown: p.what } : { unasked: true }), ...(how === 'accept' && kind === 'lighter week' ? { week } : {}) };
      const made = await ask(`POST /api/lifters/{lifter}/steering/${how}`, { path: { lifter: data.id }, body });
      tell(t(how === 'reject' ? 'plan.rejected' : kind === 'stall' ? 'steer.accepted.stall' : 'steer.accepted.lighter'), made.change);
      done();
    } catch (e) {
      setError(e);
      if (e instanceof Refusal && e.status === 409) done(); // something else is proposed by now
    } finally {
      setBusy(false);
    }
  };
  return (
    <>
      {error !== undefined && (error instanceof Refusal && error.detail.holds?.length ? <Holds holds={error.detail.holds} name={data.lifter} /> : <Failure error={error} />)}
      <div class="line end">
        {kind === 'lighter week' && <Choice label={t('plan.week')} value={week} set={setWeek} options={weeks.map((m): [string, string] => [m, t('steer.week', { day: day(m, 'weekday') })])} />}
        <TextField label={t('plan.word')} value={why} set={setWhy} />
        <button type="button" class={p ? 'first' : ''} disabled={busy} onClick={() => void decide('accept')}>{t(p ? 'plan.accept' : 'steer.unasked')}</button>
        {p && <button type="button" disabled={busy} onClick={() => void decide('reject')}>{t('plan.reject')}</button>}
      </div>
    </>
  );
}
// This week's Monday and the three after it.
export function mondays(today: string): string[] {
  const at = new Date(`${today}T00:00Z`);
  at.setUTCDate(at.getUTCDate() - ((at.getUTCDay() + 6) % 7));
  return [0, 7, 14, 21].map((n) => new Date(at.getTime() + n * 86400000).toISOString().slice(0, 10));
}

const percent = (share: number) => `${share > 0 ? '+' : ''}${fixed(100 * share, 1)} %`;

function Numbers({ form: f }: { form: NonNullable<Steering['form']> }) {
  const rows: [string, string][] = [];
  const a = f.against_forecast;
  if (f.lifts > 0)
    rows.push([t('steer.strength'), t('steer.strength.is', { n: f.lifts, value: percent(a.median), range: range(100 * a.lo80, 100 * a.hi80, 1), p: chance(f.p_under) })]);
  if (f.planned > 0) rows.push([t('steer.missed'), t('steer.missed.is', { n: f.missed, of: num(f.planned), told: fixed(f.told, 1), p: chance(f.chance) })]);
  rows.push([t('steer.readiness'), t('steer.readiness.is', { value: percent(f.readiness) })]);
  if (f.spent_against_before > 0) rows.push([t('steer.cost'), t('steer.cost.is', { value: percent(f.spent_against_before - 1) })]);
  return (
    <table class="facts">
      <caption>{t('steer.sessions', { n: f.sessions, from: day(f.from), to: day(f.to) })}</caption>
      <tbody>
        {rows.map(([head, value]) => <tr key={head}><th scope="row" class="soft">{head}</th><td class="figures">{value}</td></tr>)}
      </tbody>
    </table>
  );
}

// How the last two weeks went when nothing is asked for, what was decided, and a lighter week all the same.
function Lately({ data, done }: { data: Steering; done: () => void }) {
  const f = data.form;
  const asked = data.proposals.some((p) => p.kind === 'lighter week');
  return (
    <details class="lately">
      <summary>{t('steer.lately')}{data.decided.length > 0 && `; ${t('steer.lately.decided', { n: data.decided.length })}`}</summary>
      {!asked && (
        <>
          <p class="serif">{t(f ? 'steer.none' : 'steer.unknown')}</p>
          {f && <Numbers form={f} />}
          <Decide data={data} kind="lighter week" done={done} />
        </>
      )}
      {data.decided.length > 0 && (
        <>
          <h3>{t('steer.decided')}</h3>
          <ul class="plain-list">
            {data.decided.map((d) => (
              <li key={d.number}>
                <p>
                  {day(d.date)}, {d.proposal.kind === 'stall' ? name(d.proposal) : t('reason.lighter')}: {t(d.state === 'accepted' ? 'steer.accepted' : 'steer.rejected')}, <Said of={d.proposal.what} />
                  {d.said && <>, “{d.said}”</>}.{' '}
                  <Why of={`${day(d.date)}, ${d.proposal.kind === 'stall' ? name(d.proposal) : t('reason.lighter')}`}><Said as="p" of={d.proposal.why} /></Why>
                </p>
              </li>
            ))}
          </ul>
        </>
      )}
    </details>
  );
}

// In the plan: a lighter week that is accepted and not in it yet.
export function LighterMissing({ lifter, version, weeks, busy, plan }: {
  lifter: string;
  version: number;
  weeks: { monday: string; kind: string }[];
  busy: boolean;
  plan: () => void;
}) {
  const { data } = useSteering(lifter, version);
  const missing = data?.decided.find((d) => {
    const p = d.proposal;
    return d.state === 'accepted' && p.kind === 'lighter week' && p.until >= data.today && weeks.some((w) => w.monday === p.from && w.kind !== 'lighter');
  });
  if (!missing) return null;
  return (
    <Notice title={t('steer.not.in.plan', { from: day(missing.proposal.from, 'weekday') })}>
      <p>{t('steer.not.in.plan.text')}</p>
      <div class="actions">
        <button type="button" disabled={busy} onClick={plan}>{t('plan.from.today')}</button>
      </div>
    </Notice>
  );
}

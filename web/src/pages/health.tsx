// Health questions, holds, clinicians' words, consent and pain. The page only records; it never talks anyone out of a hold.
import { useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { Answer, HealthPage } from '../api/types';
import { Check, Failure, Holds, Loading, Notice, Said, TextField, tell, useSaid } from '../design/parts';
import { day, localDay, num, readNumber } from '../format';
import { t } from '../text';
import { useAsk } from '../use';

export function HealthPart({ lifter, name, changed, version }: { lifter: string; name: string; changed: () => void; version: number }) {
  const { data, error, again } = useAsk(() => ask('GET /api/lifters/{lifter}/health', { path: { lifter } }), `${lifter}|${version}`);
  const [open, setOpen] = useState<'intake' | 'word' | 'hold' | 'pain' | 'consent'>();
  const [fault, setFault] = useState<unknown>();
  if (!data) return error ? <Failure error={error} again={again} /> : <Loading />;
  const r = data.record;
  const act = async (text: string, what: () => Promise<HealthPage>) => {
    try {
      const page = await what();
      setFault(undefined);
      setOpen(undefined);
      tell(text, page.change);
      again();
      changed();
    } catch (e) {
      setFault(e);
    }
  };
  const answered = new Map<string, Answer & { date: string }>();
  for (const i of r.intakes) for (const a of i.answers) answered.set(a.question, { ...a, date: i.date });
  const openHolds = r.holds.filter((h) => !h.lifted);
  const openPains = r.pains.filter((p) => !p.cleared);
  return (
    <div class="columns halves">
      <div>
        {data.gate.allowed ? (
          <Notice title={t('health.may')}>
            {data.gate.least_reserve > 0 && (
              <p>{t('health.least', { n: num(data.gate.least_reserve) })} <Said class="soft" of={data.gate.least_reserve_from} /></p>
            )}
            {data.gate.extra_reserve > 0 && (
              <p>
                {t('health.extra', { n: num(data.gate.extra_reserve) })} <Said class="soft" of={data.gate.extra_reserve_from} />{' '}
                <button type="button" class="plain" onClick={() => void act(t('health.settled'), () => ask('POST /api/lifters/{lifter}/settle', { path: { lifter }, body: {} }))}>{t('health.settle')}</button>
              </p>
            )}
            {data.gate.load_cap_share !== null && (
              <p>{t('health.cap', { n: num(Math.round(data.gate.load_cap_share * 100)) })} <Said class="soft" of={data.gate.load_cap_from} /></p>
            )}
            {!data.gate.failure && <p>{t('health.no.failure')} <Said class="soft" of={data.gate.no_failure} /></p>}
            {data.gate.barred.map((b) => <p key={b.exercise}>{t('health.barred', { name: b.name })} <Said class="soft" of={b.reason} /></p>)}
          </Notice>
        ) : (
          <Holds holds={data.gate.holds} name={name} />
        )}
        {fault !== undefined && <Failure error={fault} />}

        <h2>{t('holds')}</h2>
        {r.holds.length === 0 && <p class="soft">{t('holds.none')}</p>}
        {openHolds.map((h) => <OpenHold key={h.id} hold={h} lift={(ground) => void act(t('hold.lifted'), () => ask('POST /api/lifters/{lifter}/holds/{hold}/lift', { path: { lifter, hold: h.id }, body: { ground } }))} />)}
        {r.holds.filter((h) => h.lifted).map((h) => (
          <p key={h.id} class="soft"><Said own of={h.reason} />. {t('hold.was', { from: day(h.since), to: day(h.lifted), by: h.lifted_by })}</p>
        ))}
        {open === 'hold' ? <HoldForm cancel={() => setOpen(undefined)} save={(reason) => void act(t('hold.put'), () => ask('POST /api/lifters/{lifter}/holds', { path: { lifter }, body: { reason } }))} />
          : <button type="button" onClick={() => setOpen('hold')}>{t('hold.add')}</button>}

        <h2>{t('words')}</h2>
        {r.words.length === 0 && <p class="soft">{t('words.none')}</p>}
        {r.words.map((w) => (
          <Notice key={w.id} title={t('word.title', { clinician: w.clinician, date: day(w.date) })}>
            {w.least_reserve !== null && <p>{t('health.least', { n: num(w.least_reserve) })}</p>}
            {w.load_cap_share !== null && <p>{t('health.cap', { n: num(Math.round(w.load_cap_share * 100)) })}</p>}
            {w.not_exercises.length > 0 && <p>{t('word.not', { list: w.not_exercises.join(', ') })}</p>}
            {w.only_exercises.length > 0 && <p>{t('word.only', { list: w.only_exercises.join(', ') })}</p>}
            {w.note && <p class="serif">{w.note}</p>}
            <p class="small soft">{w.until ? t('word.until', { date: day(w.until) }) : t('word.open')} {t('recorded.by', { by: w.recorded_by })}</p>
            {(!w.until || w.until >= localDay()) && (
              <button type="button" class="plain start" onClick={() => void act(t('word.ended'), () => ask('POST /api/lifters/{lifter}/words/{word}/end', { path: { lifter, word: w.id }, body: {} }))}>{t('word.end')}</button>
            )}
          </Notice>
        ))}
        {open === 'word' ? (
          <WordForm holds={openHolds} cancel={() => setOpen(undefined)} save={(body) => void act(t('word.recorded'), () => ask('POST /api/lifters/{lifter}/words', { path: { lifter }, body }))} />
        ) : (
          <button type="button" onClick={() => setOpen('word')}>{t('word.add')}</button>
        )}

        <h2>{t('pains')}</h2>
        {openPains.length === 0 && <p class="soft">{t('pains.none')}</p>}
        {r.pains.map((p) => (
          <p key={p.id} class={p.cleared ? 'soft' : ''}>
            <span class="serif">{p.exercise || t('pain.all')}</span>{p.note ? `: ${p.note}` : ''} <span class="soft">{t('since', { date: day(p.since) })}</span>{' '}
            {p.cleared ? t('pain.cleared', { date: day(p.cleared), by: p.cleared_by }) : (
              <button type="button" class="plain" onClick={() => void act(t('pain.cleared.now'), () => ask('POST /api/lifters/{lifter}/pains/{pain}/clear', { path: { lifter, pain: p.id }, body: {} }))}>{t('pain.clear')}</button>
            )}
          </p>
        ))}
        {open === 'pain' ? (
          <PainForm cancel={() => setOpen(undefined)} save={(exercise, note) => void act(t('pain.recorded'), () => ask('POST /api/lifters/{lifter}/pains', { path: { lifter }, body: { exercise, note } }))} />
        ) : (
          <button type="button" onClick={() => setOpen('pain')}>{t('pain.add')}</button>
        )}

        <h2>{t('consent')}</h2>
        {r.consent ? (
          <p>
            {t('consent.is', { guardian: r.consent.guardian, date: day(r.consent.date) })}{' '}
            <button type="button" class="plain" onClick={() => void act(t('consent.gone'), () => ask('DELETE /api/lifters/{lifter}/consent', { path: { lifter } }))}>{t('consent.back')}</button>
          </p>
        ) : open === 'consent' ? (
          <ConsentForm cancel={() => setOpen(undefined)} save={(guardian, date) => void act(t('consent.recorded'), () => ask('PUT /api/lifters/{lifter}/consent', { path: { lifter }, body: { guardian, date } }))} />
        ) : (
          <>
            <p class="soft">{t('consent.none')}</p>
            <button type="button" onClick={() => setOpen('consent')}>{t('consent.add')}</button>
          </>
        )}
      </div>
      <Intake answered={answered} save={(answers) => void act(t('intake.saved'), () => ask('POST /api/lifters/{lifter}/intake', { path: { lifter }, body: { answers } }))} />
      <p class="small soft">{t('health.not.advice')}</p>
    </div>
  );
}

function Intake({ answered, save }: { answered: Map<string, Answer & { date: string }>; save: (a: Answer[]) => void }) {
  const { data, error } = useAsk(() => ask('GET /api/health-questions'), 'questions');
  const [given, setGiven] = useState<Record<string, { answer?: 'yes' | 'no'; detail?: string }>>({});
  if (!data) return error ? <Failure error={error} /> : <Loading />;
  const list = Object.entries(given).filter(([, g]) => g.answer).map(([question, g]) => ({ question, answer: g.answer!, detail: g.detail ?? '' }));
  return (
    <form class="intake"
      onSubmit={(e) => {
        e.preventDefault();
        save(list);
        setGiven({});
      }}>
      <h2>{t('intake.title')}</h2>
      <p class="soft">{t('intake.text')}</p>
      {data.questions.map((q) => {
        const before = answered.get(q.question);
        const now = given[q.question];
        const value = now?.answer ?? before?.answer;
        return (
          <fieldset key={q.question} class="question">
            <Said as="legend" class="serif" of={q.text} />
            <div class="line">
              {(['no', 'yes'] as const).map((a) => (
                <label key={a} class="choice">
                  <input type="radio" name={q.question} checked={value === a} onChange={() => setGiven({ ...given, [q.question]: { ...now, answer: a } })} />
                  <span>{t(a === 'yes' ? 'yes' : 'no')}</span>
                </label>
              ))}
              <span class="small soft">{now?.answer ? t('intake.not.saved') : before && before.answer !== 'not asked' ? t('intake.on', { date: day(before.date) }) : t('intake.not.asked')}</span>
            </div>
            {now?.answer === 'yes' && (
              <TextField label={t('intake.detail')} value={now.detail ?? ''} set={(detail) => setGiven({ ...given, [q.question]: { ...now, detail } })} />
            )}
          </fieldset>
        );
      })}
      <div class="actions"><button type="submit" class="first" disabled={!list.length}>{t('intake.save', { n: list.length })}</button></div>
    </form>
  );
}

function OpenHold({ hold, lift }: { hold: { id: string; since: string; reason: string }; lift: (ground: string) => void }) {
  const [ground, setGround] = useState<string>();
  return (
    <Notice harm title={<Said own of={hold.reason} />}>
      <p class="soft small">{t('since', { date: day(hold.since) })}</p>
      {ground === undefined ? (
        <button type="button" class="plain start" onClick={() => setGround('')}>{t('hold.lift')}</button>
      ) : (
        <form onSubmit={(e) => (e.preventDefault(), lift(ground))}>
          <TextField label={t('hold.ground')} hint={t('hold.ground.hint')} value={ground} set={setGround} required />
          <div class="actions"><button type="submit">{t('hold.lift')}</button><button type="button" onClick={() => setGround(undefined)}>{t('cancel')}</button></div>
        </form>
      )}
    </Notice>
  );
}
function HoldForm({ save, cancel }: { save: (reason: string) => void; cancel: () => void }) {
  const [reason, setReason] = useState('');
  return (
    <form onSubmit={(e) => (e.preventDefault(), save(reason))}>
      <TextField label={t('hold.reason')} value={reason} set={setReason} required />
      <div class="actions"><button type="submit" class="first">{t('hold.add')}</button><button type="button" onClick={cancel}>{t('cancel')}</button></div>
    </form>
  );
}
function PainForm({ save, cancel }: { save: (exercise: string, note: string) => void; cancel: () => void }) {
  const [exercise, setExercise] = useState('');
  const [note, setNote] = useState('');
  const { data } = useAsk(() => ask('GET /api/exercises', { query: { limit: 400 } }), 'all');
  return (
    <form onSubmit={(e) => (e.preventDefault(), save(exercise, note))}>
      <label class="field"><span>{t('pain.which')}</span>
        <select value={exercise} onChange={(e) => setExercise(e.currentTarget.value)}>
          <option value="">{t('pain.all')}</option>
          {data?.exercises.map((x) => <option key={x.exercise} value={x.exercise}>{x.name}</option>)}
        </select></label>
      <TextField label={t('pain.note')} value={note} set={setNote} />
      <div class="actions"><button type="submit" class="first">{t('pain.add')}</button><button type="button" onClick={cancel}>{t('cancel')}</button></div>
    </form>
  );
}
function ConsentForm({ save, cancel }: { save: (guardian: string, date: string) => void; cancel: () => void }) {
  const [guardian, setGuardian] = useState('');
  const [date, setDate] = useState(localDay());
  return (
    <form onSubmit={(e) => (e.preventDefault(), save(guardian, date))}>
      <TextField label={t('consent.guardian')} value={guardian} set={setGuardian} required />
      <TextField label={t('date')} type="date" value={date} set={setDate} required />
      <div class="actions"><button type="submit" class="first">{t('save')}</button><button type="button" onClick={cancel}>{t('cancel')}</button></div>
    </form>
  );
}
function WordForm({ holds, save, cancel }: {
  holds: { id: string; reason: string }[];
  save: (body: { clinician: string; least_reserve?: number | null; load_cap_share?: number | null; not_exercises?: string[]; until?: string | null; lifts_holds?: string[]; note?: string; date?: string }) => void;
  cancel: () => void;
}) {
  const said = useSaid();
  const [d, setD] = useState({ clinician: '', date: localDay(), least: '', cap: '', until: '', note: '', not: '' });
  const [lifts, setLifts] = useState<string[]>([]);
  const least = d.least === '' ? null : readNumber(d.least);
  const cap = d.cap === '' ? null : readNumber(d.cap);
  const bad = least === undefined || cap === undefined;
  return (
    <form onSubmit={(e) => {
      e.preventDefault();
      if (bad) return;
      save({
        clinician: d.clinician, date: d.date, least_reserve: least, load_cap_share: cap === null ? null : cap! / 100, until: d.until || null,
        lifts_holds: lifts, note: d.note, not_exercises: d.not.split(',').map((x) => x.trim()).filter(Boolean),
      });
    }}>
      <div class="fields pair">
        <TextField label={t('word.clinician')} value={d.clinician} set={(clinician) => setD({ ...d, clinician })} required />
        <TextField label={t('date')} type="date" value={d.date} set={(date) => setD({ ...d, date })} required />
        <TextField label={t('word.least')} inputMode="decimal" value={d.least} set={(v) => setD({ ...d, least: v })} fault={least === undefined ? t('fault.number') : undefined} />
        <TextField label={t('word.cap')} inputMode="decimal" value={d.cap} set={(v) => setD({ ...d, cap: v })} fault={cap === undefined ? t('fault.number') : undefined} />
        <TextField label={t('word.until.label')} type="date" value={d.until} set={(until) => setD({ ...d, until })} />
        <TextField label={t('word.not.label')} hint={t('word.not.hint')} value={d.not} set={(not) => setD({ ...d, not })} />
        <TextField label={t('log.note')} value={d.note} set={(note) => setD({ ...d, note })} />
      </div>
      {holds.length > 0 && (
        <fieldset>
          <legend>{t('word.lifts')}</legend>
          {holds.map((h) => <Check key={h.id} label={said(h.reason).text} checked={lifts.includes(h.id)} set={(on) => setLifts(on ? [...lifts, h.id] : lifts.filter((x) => x !== h.id))} />)}
        </fieldset>
      )}
      <div class="actions"><button type="submit" class="first">{t('save')}</button><button type="button" onClick={cancel}>{t('cancel')}</button></div>
    </form>
  );
}

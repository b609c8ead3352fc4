// The evidence: studies that are read in and kept, a coach's question asked of them, pictures, the hand-over to the planner,
// and what others have published.
import { useEffect, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { Answers, GrowthReading, StudyFit, StudyTable, Table as Sent } from '../api/types';
import { CurvePicture, FunnelPicture, type Line, LinesPicture, effect } from '../design/Evidence';
import { Check, Choice, Empty, Failure, Loading, Said, SaidList, TextField, tell } from '../design/parts';
import { Table } from '../design/Table';
import { fixed, num, range } from '../format';
import { link, type Route } from '../router';
import { studyColumns, studyMapping } from '../studies';
import { t, type TextKey } from '../text';
import { useAsk } from '../use';
import { plainName, sendTable } from './import';

const parts: [string, TextKey][] = [['', 'ev.studies'], ['published', 'ev.published'], ['readings', 'ev.readings']];

interface PageProps {
  changed: () => void;
  version: number;
}
export function EvidencePage({ route, ...rest }: PageProps & { route: Route }) {
  const part = route.parts[0] ?? '';
  useEffect(() => {
    document.title = `${t('nav.evidence')} · Ullage`;
  }, []);
  const own = part === 'of' ? route.parts[1] : undefined;
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{own ?? (part === 'add' ? t('ev.add') : t('ev.title'))}</h1>
      <nav class="parts" aria-label={t('nav.evidence')}>
        {parts.map(([key, text]) => (
          <a key={key} href={link('evidence', key)} aria-current={key === part || (key === '' && (own || part === 'add')) ? 'page' : undefined}>{t(text)}</a>
        ))}
      </nav>
      {part === '' && <StudyList {...rest} />}
      {part === 'add' && <AddStudies {...rest} />}
      {own && <OneTable key={own} name={own} {...rest} />}
      {part === 'published' && <PublishedPart />}
      {part === 'readings' && <ReadingsPart {...rest} />}
    </main>
  );
}

function StudyList({ version }: PageProps) {
  const { data, error, again } = useAsk(() => ask('GET /api/studies'), `s${version}`);
  if (!data) return error ? <Failure error={error} again={again} /> : <Loading />;
  if (!data.studies.length)
    return (
      <Empty title={t('ev.none')}>
        <p>{t('ev.none.text')}</p>
        <div class="actions">
          <a class="key first" href={link('evidence', 'add')}>{t('ev.add')}</a>
          <a class="key" href={link('evidence', 'published')}>{t('ev.published')}</a>
        </div>
      </Empty>
    );
  return (
    <>
      <ul class="plain-list">
        {data.studies.map((s) => (
          <li key={s.name}>
            <a class="name-cell" href={link('evidence', 'of', s.name)}>{s.name}</a>{' '}
            <span class="soft">{t('ev.counts', { studies: num(s.studies), effects: num(s.effects) })} · {s.file}</span>
          </li>
        ))}
      </ul>
      <div class="actions"><a class="key" href={link('evidence', 'add')}>{t('ev.add')}</a></div>
    </>
  );
}

// ---- A table is read in.
interface Meaning {
  toml: string;
  skip_bad: boolean;
  measure: string;
  better: '' | 'more' | 'less';
  assumed_r: string;
  compares: '' | 'short minus failure' | 'failure minus short' | 'groups';
}
const sayMeaning = (m: Meaning) => ({ toml: m.toml, skip_bad: m.skip_bad, measure: m.measure, better: m.better, compares: m.compares, ...(m.assumed_r ? { assumed_r: Number(m.assumed_r.replace(',', '.')) } : {}) });
const meaningOf = (s: StudyTable['meaning']): Meaning => ({ toml: s.toml, skip_bad: s.skip_bad, measure: s.measure ?? '', better: (s.better ?? '') as Meaning['better'], assumed_r: s.assumed_r === null ? '' : String(s.assumed_r), compares: s.compares });

function MeaningFields({ m, set }: { m: Meaning; set: (m: Meaning) => void }) {
  return (
    <div class="fields pair">
      <Choice label={t('ev.compares')} hint={t('ev.compares.hint')} value={m.compares} set={(v) => set({ ...m, compares: v as Meaning['compares'] })}
        options={[['', t('import.choose')], ['short minus failure', t('ev.short.failure')], ['failure minus short', t('ev.failure.short')], ['groups', t('ev.groups')]]} />
      <Choice label={t('ev.better')} hint={t('ev.better.hint')} value={m.better} set={(v) => set({ ...m, better: v as '' })} options={[['', t('ev.better.none')], ['more', t('ev.more')], ['less', t('ev.less')]]} />
      <Choice label={t('ev.measure')} value={m.measure} set={(v) => set({ ...m, measure: v })}
        options={[['', t('ev.measure.auto')], ['SMD', t('ev.smd')], ['MD', t('ev.md')], ['ROM', t('ev.rom')], ['SMCR', t('ev.smcr')], ['OR', t('ev.or')], ['RR', t('ev.rr')]]} />
      <TextField label={t('ev.r')} hint={t('ev.r.hint')} inputMode="decimal" value={m.assumed_r} set={(v) => set({ ...m, assumed_r: v })} />
      <Check label={t('ev.skip')} checked={m.skip_bad} set={(on) => set({ ...m, skip_bad: on })} />
    </div>
  );
}

function AddStudies({ changed }: PageProps) {
  const [file, setFile] = useState<File>();
  const [sent, setSent] = useState<Sent>();
  const [headings, setHeadings] = useState<string[]>([]);
  const [picked, setPicked] = useState<Record<string, string>>({});
  const [mapping, setMapping] = useState(false);
  const [m, setM] = useState<Meaning>({ toml: '', skip_bad: false, measure: '', better: '', assumed_r: '', compares: '' });
  const [name, setName] = useState('');
  const [look, setLook] = useState<StudyTable>();
  const [busy, setBusy] = useState(false);
  const [error, setError] = useState<unknown>();
  const choose = async (f: File | undefined) => {
    setFile(f);
    setSent(undefined);
    setLook(undefined);
    setError(undefined);
    setPicked({});
    setMapping(false);
    if (!f) return;
    setBusy(true);
    try {
      const s = await sendTable(f);
      const cells = await ask('GET /api/tables/{table}/cells', { path: { table: s.table }, query: { rows: 2 } });
      setHeadings((cells.sheets.find((s) => !s.hidden && s.rows.length)?.rows[0]?.cells ?? []).map((c) => c.text).filter(Boolean));
      setSent(s);
      setName(plainName(f.name).replace(/-/g, ' '));
    } catch (e) {
      setError(e);
    }
    setBusy(false);
  };
  // Looked at again whenever it is meant otherwise; nothing is kept.
  const key = JSON.stringify([sent?.table, m]);
  useEffect(() => {
    if (!sent) return;
    let over = false;
    const timer = setTimeout(() => {
      ask('POST /api/studies', { body: { table: sent.table, ...sayMeaning(m) } }).then(
        (s) => !over && (setLook(s), setError(undefined)),
        (e: unknown) => {
          if (over) return;
          setLook(undefined);
          setError(e);
          if (!m.toml && e instanceof Refusal && e.status === 422) setMapping(true);
        },
      );
    }, 250);
    return () => {
      over = true;
      clearTimeout(timer);
    };
  }, [key]);
  const pick = (column: string, heading: string) => {
    const now = { ...picked, [column]: heading };
    if (!heading) delete now[column];
    setPicked(now);
    setM({ ...m, toml: studyMapping(now, headings) });
  };
  const keep = async () => {
    setBusy(true);
    try {
      const a = await ask('PUT /api/studies/{studies}', { path: { studies: name }, body: { table: sent!.table, ...sayMeaning(m) } });
      tell(t('ev.kept', { name }), a.change);
      changed();
      location.hash = link('evidence', 'of', name);
    } catch (e) {
      setError(e);
      setBusy(false);
    }
  };
  return (
    <>
      <p class="lead">{t('ev.add.text')}</p>
      <label class="field"><span>{t('ev.file')}</span><input type="file" accept=".csv,.tsv,.txt,text/csv,.xlsx,.ods" onChange={(e) => void choose(e.currentTarget.files?.[0])} /></label>
      {busy && <Loading what={t('import.reading')} />}
      {sent && (
        <>
          <MeaningFields m={m} set={setM} />
          <details open={mapping} onToggle={(e) => setMapping(e.currentTarget.open)}>
            <summary>{t('ev.columns')}</summary>
            <p class="small soft">{t('ev.columns.text', { n: headings.length })}</p>
            {studyColumns.map(([group, columns]) => (
              <fieldset key={group}>
                <legend>{t(`ev.group.${group}` as TextKey)}</legend>
                <div class="fields study-columns">
                  {columns.map((c) => <Choice key={c} label={c} value={picked[c] ?? ''} set={(v) => pick(c, v)} options={[['', '–'], ...headings.map((h) => [h, h] as [string, string])]} />)}
                </div>
              </fieldset>
            ))}
            <label class="field"><span>{t('import.mapping')}</span><textarea rows={8} spellcheck={false} value={m.toml} onInput={(e) => setM({ ...m, toml: e.currentTarget.value })} /></label>
          </details>
          {error !== undefined && <Failure error={error} />}
          {look && (
            <>
              <h2>{look.refused ? t('ev.refused', { n: look.report.left_out.reduce((n, r) => n + r.rows, 0) }) : t('ev.would', { studies: num(look.report.studies_used), effects: num(look.report.effects_used) })}</h2>
              <WhatWasRead look={look} />
              <TextField label={t('ev.name')} value={name} set={setName} />
              <div class="actions"><button type="button" class="first" disabled={busy || !name || look.refused} onClick={() => void keep()}>{t('ev.keep')}</button></div>
            </>
          )}
        </>
      )}
      {!sent && error !== undefined && <Failure error={error} again={file ? () => void choose(file) : undefined} />}
    </>
  );
}

function WhatWasRead({ look }: { look: StudyTable }) {
  const r = look.report;
  return (
    <>
      <p class="figures">{t('ev.read', { rows: num(r.rows_read), studies: num(r.studies_used), effects: num(r.effects_used) })} <Said of={look.measure_words} />; <Said of={r.signs} />.</p>
      {r.faults.length > 0 && (
        <div class="notice of-harm">
          <p class="sentence">{t('ev.faults', { n: r.faults.length })}</p>
          <SaidList list={r.faults.slice(0, 40)} />
        </div>
      )}
      {[...r.left_out.map((x) => ['ev.left', x] as const), ...r.worked_out.map((x) => ['ev.worked', x] as const)].map(([key, x]) => (
        <p key={key + x.reason} class="small">{t(key, { n: x.rows, line: num(x.first_line) })} <Said of={x.reason} /></p>
      ))}
      {r.remarks.length > 0 && <details><summary>{t('import.remarks', { n: r.remarks.length })}</summary><SaidList list={r.remarks.slice(0, 60)} /></details>}
      <details>
        <summary>{t('ev.rows', { n: look.effects.length })}</summary>
        <Table caption={t('ev.rows', { n: look.effects.length })} columns={[t('ev.study'), t('line'), t('ev.effect'), t('ev.se')]}
          rows={look.effects.map((e) => [e.label, num(e.line), e.effect === null ? '–' : fixed(e.effect, 2), e.se === null ? '–' : fixed(e.se, 2)])} />
      </details>
    </>
  );
}

// ---- One kept table: the question, its answers, the pictures, the hand-over.
function OneTable({ name, changed, version }: PageProps & { name: string }) {
  const { data, error, again } = useAsk(() => ask('GET /api/studies/{studies}', { path: { studies: name } }), `${name}|${version}`);
  const [m, setM] = useState<Meaning>();
  const [about, setAbout] = useState<string>();
  const [by, setBy] = useState('');
  const [fault, setFault] = useState<unknown>();
  if (!data) return error ? <Failure error={error} again={again} /> : <Loading />;
  const outcomes = data.columns.find((c) => c.column === 'outcome')?.values ?? [];
  const chosen = about ?? (outcomes.includes('growth') ? 'growth' : outcomes.includes('hypertrophy') ? 'hypertrophy' : (outcomes[0] ?? ''));
  const save = async () => {
    try {
      const a = await ask('PUT /api/studies/{studies}', { path: { studies: name }, body: sayMeaning(m!) });
      tell(t('saved'), a.change);
      setM(undefined);
      setFault(undefined);
      changed();
      again();
    } catch (e) {
      setFault(e);
    }
  };
  const remove = async () => {
    try {
      const a = await ask('DELETE /api/studies/{studies}', { path: { studies: name } });
      tell(t('ev.removed', { name }), a.change);
      changed();
      location.hash = link('evidence');
    } catch (e) {
      setFault(e);
    }
  };
  const others = data.columns.filter((c) => c.column !== 'outcome');
  return (
    <>
      <p class="soft">{t('ev.counts', { studies: num(data.report.studies_used), effects: num(data.report.effects_used) })} · {data.file}</p>
      {fault !== undefined && <Failure error={fault} />}
      <div class="fields pair">
        {outcomes.length > 0 && <Choice label={t('ev.about')} value={chosen} set={setAbout} options={outcomes.map((o) => [o, o] as [string, string])} />}
        <Choice label={t('ev.by')} hint={t('ev.by.hint')} value={by} set={setBy} options={[['', t('ev.by.none')], ...others.map((c) => [c.column, c.column] as [string, string])]} />
      </div>
      {data.meaning.compares === 'groups' && !data.columns.some((c) => c.column === 'failure') ? (
        <div class="notice"><p class="sentence">{t('ev.no.failure')}</p></div>
      ) : data.meaning.compares ? <Question name={name} about={chosen} by={by} version={version} /> : (
        <div class="notice"><p class="sentence">{t('ev.not.said')}</p></div>
      )}
      <Pictures name={name} about={chosen} numbers={others.filter((c) => c.numeric).map((c) => c.column)} version={version} changed={changed} contrast={data.meaning.compares !== 'groups' && data.meaning.compares !== ''} />
      <h2>{t('ev.what.read')}</h2>
      <WhatWasRead look={data} />
      <details open={!data.meaning.compares || undefined}>
        <summary>{t('ev.meaning')}</summary>
        <MeaningFields m={m ?? meaningOf(data.meaning)} set={setM} />
        <label class="field"><span>{t('import.mapping')}</span><textarea rows={6} spellcheck={false} value={(m ?? meaningOf(data.meaning)).toml} onInput={(e) => setM({ ...(m ?? meaningOf(data.meaning)), toml: e.currentTarget.value })} /></label>
        <div class="actions"><button type="button" class="first" disabled={!m} onClick={() => void save()}>{t('save')}</button></div>
      </details>
      <div class="actions"><button type="button" onClick={() => void remove()}>{t('ev.remove')}</button></div>
    </>
  );
}

const aboutText = (a: string): string => {
  const known: Record<string, TextKey> = { 'all studies': 'ev.all', 'volume equated': 'ev.equated', 'volume not equated': 'ev.not.equated', 'trained only': 'ev.trained' };
  return known[a] ? t(known[a]) : a.startsWith('by ') ? t('ev.by.of', { column: a.slice(3) }) : a;
};

function Question({ name, about, by, version }: { name: string; about: string; by: string; version: number }) {
  const { data, error, again } = useAsk<Answers>(() => ask('POST /api/studies/{studies}/ask', { path: { studies: name }, body: { about, by: by ? [by] : [] }, timeout: 120000 }), `${name}|${about}|${by}|${version}`);
  if (!data) return error ? <Failure error={error} again={again} /> : <Loading what={t('ev.pooling')} />;
  const lines: Line[] = data.answers.flatMap((a) =>
    a.answered && typeof a.estimate === 'number' && typeof a.ci_lo === 'number' && typeof a.ci_hi === 'number' && a.prediction
      ? [{ name: `${aboutText(a.about)} (${num(a.studies)})`, mid: a.estimate, lo: a.ci_lo, hi: a.ci_hi, newLo: a.prediction.lo ?? undefined, newHi: a.prediction.hi ?? undefined, pooled: true }] : []);
  return (
    <section>
      <Said as="h2" of={data.question} />
      {error !== undefined && <Failure error={error} again={again} />}
      {lines.length > 0 && <LinesPicture label={data.question} say={lines.map((l) => `${l.name}: ${effect(l.mid, l.lo, l.hi)}`).join('. ')} lines={lines} left={t('ev.favours.failure')} right={t('ev.favours.short')} legend={t('ev.answers.legend')} />}
      {data.answers.map((a) => (
        <div key={a.about} class="answer">
          <h3>{aboutText(a.about)}</h3>
          <Said as="p" class="serif" of={a.sentence} />
          {a.answered && (
            <p class="small figures">
              {t('ev.figures', { estimate: effect(a.estimate ?? 0, a.ci_lo ?? 0, a.ci_hi ?? 0), studies: num(a.studies), effects: num(a.effects), i2: num(a.i2 ?? 0, 0), p: pText(a.p_adjusted ?? 1) })}
              {a.prediction && ` ${t('ev.figures.new', { range: range(a.prediction.lo ?? 0, a.prediction.hi ?? 0, 2) })}`}
            </p>
          )}
          {a.checks?.map((c) => <Said key={c} as="p" class="small soft" of={c} />)}
        </div>
      ))}
      {data.multiplicity && <Said as="p" class="notice" of={data.multiplicity} />}
    </section>
  );
}
const pText = (p: number) => (p < 0.001 ? `< ${fixed(0.001, 3)}` : fixed(p, 3));

type Kind = 'forest' | 'funnel' | 'curve';
function Pictures({ name, about, numbers, version, changed, contrast }: { name: string; about: string; numbers: string[]; version: number; changed: () => void; contrast: boolean }) {
  const [kind, setKind] = useState<Kind>('forest');
  const [along, setAlong] = useState(numbers.includes('reserve') ? 'reserve' : (numbers[0] ?? ''));
  const [bent, setBent] = useState(false);
  const key = `${name}|${about}|${version}|${kind === 'curve' ? `${along}|${bent}` : 'fit'}`;
  const { data, error, again } = useAsk<StudyFit>(() => (kind === 'curve'
    ? ask('POST /api/studies/{studies}/curve', { path: { studies: name }, body: { about, along, spline: bent }, timeout: 120000 })
    : ask('POST /api/studies/{studies}/fit', { path: { studies: name }, body: { about, check: true }, timeout: 120000 })), key);
  const kinds: [Kind, TextKey][] = [['forest', 'ev.forest'], ['funnel', 'ev.funnel'], ...(numbers.length ? [['curve', 'ev.curve'] as [Kind, TextKey]] : [])];
  const fitted = data && (kind === 'curve' ? data.curve : !data.curve) ? data : undefined;
  return (
    <section>
      <h2>{t('ev.pictures')}</h2>
      <div class="line" role="group" aria-label={t('ev.pictures')}>
        {kinds.map(([k, text]) => <button key={k} type="button" aria-pressed={kind === k} onClick={() => setKind(k)}>{t(text)}</button>)}
      </div>
      {kind === 'curve' && (
        <div class="fields pair">
          <Choice label={t('ev.along')} value={along} set={setAlong} options={numbers.map((n) => [n, n] as [string, string])} />
          <Check label={t('ev.bent')} checked={bent} set={setBent} />
        </div>
      )}
      {!fitted && (error ? <Failure error={error} again={again} /> : <Loading what={t('ev.pooling')} />)}
      {fitted && <Drawn fit={fitted} kind={kind} along={along} />}
      {fitted && kind === 'curve' && <HandOver name={name} about={about} along={along} bent={bent} changed={changed} contrast={contrast} />}
    </section>
  );
}

function Drawn({ fit, kind, along }: { fit: StudyFit; kind: Kind; along: string }) {
  const first = fit.coefficients[0];
  const middle = first?.estimate ?? 0;
  const precise = Math.max(...fit.effects.map((e) => 1 / (e.se ?? 1)));
  const effects = fit.effects.flatMap((e) => (e.effect !== null && e.se !== null ? [{ ...e, effect: e.effect, se: e.se }] : []));
  return (
    <>
      {kind === 'forest' && (
        <LinesPicture label={t('ev.forest')} ratio={fit.log_ratio}
          say={t('ev.forest.say', { n: fit.rows.length, pooled: effect(middle, first?.ci_lo ?? 0, first?.ci_hi ?? 0) })}
          lines={[...fit.rows.map((r): Line => ({ name: r.name, mid: r.effect, lo: r.effect - 1.96 * r.se, hi: r.effect + 1.96 * r.se, weight: Math.min(1, 1 / (r.se * precise)) })),
            { name: t('ev.pooled'), mid: middle, lo: first?.ci_lo ?? middle, hi: first?.ci_hi ?? middle, newLo: fit.prediction?.lo ?? undefined, newHi: fit.prediction?.hi ?? undefined, pooled: true }]}
          left={t('ev.below')} right={t('ev.above')} legend={t('ev.forest.legend')} />
      )}
      {kind === 'funnel' && <FunnelPicture label={t('ev.funnel')} say={t('ev.funnel.say', { n: effects.length, pooled: num(middle, 2) })} points={effects} middle={middle} />}
      {kind === 'curve' && fit.curve && (
        <CurvePicture label={t('ev.curve.of', { along })} xName={along} yName={t('ev.effect')} legend={t('ev.curve.legend')}
          say={t('ev.curve.say', { from: num(fit.curve[0]!.x, 1), to: num(fit.curve.at(-1)!.x, 1), first: num(fit.curve[0]!.estimate ?? 0, 2), last: num(fit.curve.at(-1)!.estimate ?? 0, 2) })}
          curve={fit.curve.map((p) => ({ x: p.x, mid: p.estimate ?? 0, lo: p.ci_lo ?? 0, hi: p.ci_hi ?? 0, newLo: p.prediction.lo, newHi: p.prediction.hi }))}
          dots={effects.flatMap((e) => (typeof e.x === 'number' ? [{ x: e.x, y: e.effect, weight: 1 / (e.se * precise), label: e.label }] : []))} />
      )}
      <p class="small figures"><Said of={fit.model} />; <Said of={fit.measure_words} />. {t('ev.heterogeneity', { q: num(fit.q ?? 0, 1), df: num(fit.q_df ?? 0), i2: num(fit.i2 ?? 0, 0) })}</p>
      {fit.warnings.map((w) => <Said key={w} as="p" class="notice" of={w} />)}
      {kind !== 'curve' && fit.checks?.words.map((w) => <Said key={w} as="p" class="small" of={w} />)}
      {kind === 'curve' && (
        <Table caption={t('ev.coefficients')} columns={[t('ev.term'), t('ev.effect'), t('ev.interval'), 'p']}
          rows={fit.coefficients.map((c) => [<Said of={c.term} />, fixed(c.estimate ?? 0, 3), range(c.ci_lo ?? 0, c.ci_hi ?? 0, 3), pText(c.p ?? 1)])} />
      )}
    </>
  );
}

function HandOver({ name, about, along, bent, changed, contrast }: { name: string; about: string; along: string; bent: boolean; changed: () => void; contrast: boolean }) {
  const [called, setCalled] = useState('');
  const [typical, setTypical] = useState('');
  const [error, setError] = useState<unknown>();
  const keep = async () => {
    try {
      const a = await ask('PUT /api/readings/{reading}', { path: { reading: called }, body: { studies: name, about, along, spline: bent, ...(typical ? { typical: Number(typical.replace(',', '.')) } : {}) }, timeout: 120000 });
      tell(t('ev.reading.kept', { name: called }), a.change);
      setError(undefined);
      changed();
    } catch (e) {
      setError(e);
    }
  };
  return (
    <div class="hand-over">
      <h3>{t('ev.hand')}</h3>
      <p>{t('ev.hand.text')} <a href={link('evidence', 'readings')}>{t('ev.readings')}</a></p>
      <div class="fields pair">
        <TextField label={t('ev.reading.name')} value={called} set={setCalled} />
        {contrast && <TextField label={t('ev.typical')} hint={t('ev.typical.hint')} inputMode="decimal" value={typical} set={setTypical} />}
      </div>
      {error !== undefined && <Failure error={error} />}
      <div class="actions"><button type="button" disabled={!called} onClick={() => void keep()}>{t('ev.reading.keep')}</button></div>
    </div>
  );
}

function ReadingsPart({ changed, version }: PageProps) {
  const { data, error, again } = useAsk(() => ask('GET /api/readings'), `r${version}`);
  const [fault, setFault] = useState<unknown>();
  if (!data) return error ? <Failure error={error} again={again} /> : <Loading />;
  const remove = async (reading: string) => {
    try {
      const a = await ask('DELETE /api/readings/{reading}', { path: { reading } });
      tell(t('ev.reading.removed', { name: reading }), a.change);
      setFault(undefined);
      changed();
      again();
    } catch (e) {
      setFault(e);
    }
  };
  return (
    <>
      <p class="lead">{t('ev.readings.text', { n: data.most })}</p>
      <p>{t('ev.shipped')}</p>
      {fault !== undefined && <Failure error={fault} />}
      {!data.kept.length && <Empty title={t('ev.readings.none')}><p>{t('ev.readings.none.text')}</p><a class="key" href={link('evidence')}>{t('ev.studies')}</a></Empty>}
      {data.kept.map((r: GrowthReading) => (
        <section key={r.name}>
          <h2>{t('ev.reading.finding', { name: r.name, at2: `${fixed(r.median[2] ?? 1, 2)} (${range(r.lo80[2] ?? 1, r.hi80[2] ?? 1, 2)})` })}</h2>
          <CurvePicture label={r.name} base={1} xName={t('ev.in.reserve')} yName={t('ev.growth')} legend={t('ev.reading.legend')}
            say={t('ev.reading.say', { at2: fixed(r.median[2] ?? 1, 2), at5: fixed(r.median[5] ?? 1, 2), at8: fixed(r.median[8] ?? 1, 2) })}
            curve={r.median.map((mid, x) => ({ x, mid, lo: r.lo80[x] ?? mid, hi: r.hi80[x] ?? mid }))} />
          <Said as="p" class="small soft" of={r.rests_on} />
          <div class="actions"><button type="button" onClick={() => void remove(r.name)}>{t('ev.reading.remove')}<span class="unseen"> {r.name}</span></button></div>
        </section>
      ))}
    </>
  );
}

function PublishedPart() {
  const { data, error, again } = useAsk(() => ask('GET /api/published'), 'published');
  const [topic, setTopic] = useState('');
  const [q, setQ] = useState('');
  if (!data) return error ? <Failure error={error} again={again} /> : <Loading />;
  const topics = [...new Set(data.results.map((r) => r.topic))].sort();
  const shown = data.results.filter((r) => (!topic || r.topic === topic) && `${r.quantity} ${r.source} ${r.note}`.toLowerCase().includes(q.toLowerCase()));
  const statuses: Record<string, TextKey> = { VERIFIED: 'ev.verified', 'RE-RUN': 'ev.rerun', MEMORY: 'ev.memory' };
  return (
    <>
      <p class="lead">{t('ev.published.text', { n: data.results.length })}</p>
      <div class="fields pair">
        <Choice label={t('ev.topic')} value={topic} set={setTopic} options={[['', t('ev.topic.all')], ...topics.map((x) => [x, x] as [string, string])]} />
        <TextField type="search" label={t('ev.search')} value={q} set={setQ} />
      </div>
      {!shown.length && <Empty title={t('ev.published.none')} />}
      {shown.length > 0 && (
        <Table caption={t('ev.published')} numeric={false} columns={[t('ev.quantity'), t('value'), t('ev.source')]}
          rows={shown.map((r) => [
            <span lang="en">{r.quantity}{r.note && <span class="small soft note-under">{r.note}</span>}</span>,
            <span class="figures" lang="en">{r.value}{r.lower && ` (${r.lower} to ${r.upper})`}{r.value && r.unit ? ` ${r.unit}` : ''}</span>,
            <span class="small" lang="en">{r.source}{r.doi && `, doi ${r.doi}`} <b lang={undefined}>{statuses[r.status] ? t(statuses[r.status]!) : r.status}</b></span>,
          ])} />
      )}
      <p class="small soft">{t('ev.status.legend')}</p>
    </>
  );
}

// From a spreadsheet or a text file to the log: which column is what, which rows, which faults, and only then saved.
import { useEffect, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { Cells, ImportReport, Offer, Table as Sent } from '../api/types';
import { Check, Choice, Failure, Loading, Notice, Said, SaidList, TextField, tell, useSaid } from '../design/parts';
import { Table } from '../design/Table';
import { load as loadText, num } from '../format';
import { placeOf, settled } from '../picking';
import { t } from '../text';
import { putExercise, putKey } from '../toml-keys';
import { useAsk } from '../use';
import { type Fault, type Mapped, Picking, readParts } from './pick';

export const tableTypes = '.csv,.tsv,.txt,.xlsx,.ods,text/csv,application/vnd.openxmlformats-officedocument.spreadsheetml.sheet,application/vnd.oasis.opendocument.spreadsheet';
// By name, as a browser knows it; what the file is the program decides by its bytes.
function typeOf(name: string): string {
  if (/\.xlsx$/i.test(name)) return 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet';
  if (/\.ods$/i.test(name)) return 'application/vnd.oasis.opendocument.spreadsheet';
  return 'text/csv';
}
export const sendTable = (file: File): Promise<Sent> => ask('POST /api/tables', { query: { name: file.name }, body: file, type: typeOf(file.name), timeout: 300000 });
export const plainName = (file: string) => file.replace(/\.[^.]*$/, '').toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '') || 'log';

export function ImportPage({ changed }: { changed: () => void }) {
  const said = useSaid();
  const [file, setFile] = useState<File>();
  const [lifter, setLifter] = useState('');
  const [sent, setSent] = useState<Sent>();
  const [cells, setCells] = useState<Cells>();
  const [offer, setOffer] = useState<Offer>();
  const [unread, setUnread] = useState('');
  const [mapped, setMapped] = useState<Mapped>();
  const [keep, setKeep] = useState(true);
  const [name, setName] = useState('');
  const [saved, setSaved] = useState('');
  const [answers, setAnswers] = useState<Record<string, string>>({});
  const [report, setReport] = useState<ImportReport>();
  const [update, setUpdate] = useState(false);
  const [skip, setSkip] = useState(false);
  const [sure, setSure] = useState(false);
  const [busy, setBusy] = useState('');
  const [error, setError] = useState<unknown>();
  const { data: kept, again: keptAgain } = useAsk(() => ask('GET /api/mappings'), 'mappings');
  const { data: roster } = useAsk(() => ask('GET /api/roster', { query: { sort: 'name', limit: 1000 } }), 'names');
  useEffect(() => {
    document.title = `${t('nav.import')} · Ullage`;
  }, []);

  const fresh = () => (setReport(undefined), setError(undefined), setSure(false));
  const choose = async (f: File | undefined) => {
    setFile(f);
    setSent(undefined);
    setCells(undefined);
    setOffer(undefined);
    setMapped(undefined);
    setUnread('');
    setSaved('');
    setAnswers({});
    fresh();
    if (!f) return;
    setBusy(t('import.reading'));
    try {
      const table = await sendTable(f);
      const path = { table: table.table };
      setCells(await ask('GET /api/tables/{table}/cells', { path, query: { rows: 40 }, timeout: 300000 }));
      setSent(table);
      setName(plainName(f.name));
      if (!table.open_format) {
        try {
          const o = await ask('GET /api/tables/{table}/offer', { path, timeout: 300000 });
          setOffer(o);
          setMapped({ mapping: o.mapping, parts: o.parts });
        } catch (e) {
          // Nothing in it has a name known here: everything is picked by hand.
          if (!(e instanceof Refusal) || e.status !== 422) throw e;
          setUnread(e.message);
          setMapped(await readParts(''));
        }
      }
    } catch (e) {
      setError(e);
    }
    setBusy('');
  };
  // The program was started again, or others needed the room: the file is sent once more.
  const table = async (): Promise<Sent> => {
    try {
      await ask('GET /api/tables/{table}/cells', { path: { table: sent!.table }, query: { rows: 1 } });
      return sent!;
    } catch (e) {
      if (!(e instanceof Refusal) || e.status !== 404) throw e;
      const again = await sendTable(file!);
      setSent(again);
      return again;
    }
  };
  const rewrite = async (toml: string) => {
    fresh();
    try {
      setMapped(await readParts(toml));
    } catch (e) {
      setError(e);
    }
  };
  const answer = (key: string, value: string) => {
    setAnswers({ ...answers, [key]: value });
    if (value && mapped) void rewrite(putKey(mapped.mapping, key, value));
  };
  const open = sent?.open_format ?? false;
  const questions = (offer?.questions ?? []).filter((q) => !(q.key === 'columns.lifter' && lifter) && (answers[q.key] || !mapped || !settled(q.key, mapped.parts, lifter !== '')));
  const missing = open || saved || !mapped ? [] : questions.filter((q) => q.required && !answers[q.key] && !settled(q.key, mapped.parts, lifter !== ''));
  const run = async (dry: boolean) => {
    if (!sent) return;
    setBusy(dry ? t('import.looking') : t('import.saving'));
    setError(undefined);
    try {
      const at = await table();
      let mapping = saved;
      if (!dry && !open && !saved && keep) {
        await ask('PUT /api/mappings/{name}', { path: { name }, body: { toml: mapped!.mapping } });
        mapping = name;
        keptAgain();
      }
      const r = await ask('POST /api/tables/{table}/read', {
        path: { table: at.table },
        body: { ...(mapping ? { mapping } : open ? {} : { toml: mapped!.mapping }), lifter, dry_run: dry, update, skip_bad: dry || skip, sure },
        timeout: 600000,
      });
      setReport(r);
      if (!dry && !r.refused) {
        tell(t('import.done', { n: r.added + r.applied }), r.change || undefined);
        changed();
      }
    } catch (e) {
      setError(e);
    }
    setBusy('');
  };
  const faults: Fault[] = (report?.faults ?? []).map((f) => placeOf(f.place) ?? { sheet: '', row: f.line, column: f.column });
  const sets = cells?.sheets.filter((s) => s.rows.length > 0) ?? [];
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('nav.import')}</h1>
      <p class="lead">{t('import.text')}</p>
      <div class="fields pair">
        <label class="field"><span>{t('import.file')}</span><input type="file" accept={tableTypes} onChange={(e) => void choose(e.currentTarget.files?.[0])} /></label>
        <label class="field"><span>{t('import.lifter')}</span>
          <input list="lifter-names" value={lifter} onInput={(e) => (setLifter(e.currentTarget.value), fresh())} />
          <datalist id="lifter-names">{roster?.lifters.map((l) => <option key={l.id} value={l.lifter} />)}</datalist></label>
      </div>
      {busy && <Loading what={busy} />}
      {sent && (
        <>
          <h2>{open ? t('import.open') : unread ? t('import.unread') : t('import.looks', { n: sets.reduce((n, s) => n + s.rows.length, 0), sheets: num(Math.max(1, sent.sheets.length)) })}</h2>
          {unread && <Said as="p" class="soft" of={unread} />}
          {!open && mapped && (
            <>
              {offer && <p class="small soft">{offer.found.map((x, i) => <span key={i}>{i > 0 && '; '}<Said of={x} /></span>)}{offer.not_mapped.length ? `. ${t('import.notes', { list: offer.not_mapped.join(', ') })}` : ''}</p>}
              {(kept?.mappings.length ?? 0) > 0 && (
                <Choice label={t('import.saved')} value={saved} set={(v) => (setSaved(v), fresh())} options={[['', t('import.new')], ...kept!.mappings.map((m) => [m.name, m.name] as [string, string])]} />
              )}
              {!saved && (
                <>
                  {sets.length > 0 && <Picking key={sent.table} sheets={sets} mapped={mapped} set={(m) => (setMapped(m), fresh())} lifter={lifter !== ''} faults={faults} />}
                  {questions.map((q) => (
                    <div key={q.key} class="question">
                      {q.choices.length ? (
                        <Choice label={said(q.text).text} value={answers[q.key] ?? ''} set={(v) => answer(q.key, v)}
                          options={[['', q.required ? t('import.choose') : t('import.as.offered')], ...q.choices.map((c) => [c, c] as [string, string])]} />
                      ) : (
                        <Said as="p" of={q.text} />
                      )}
                    </div>
                  ))}
                  <Unknown look={offer} put={(text, ex) => void rewrite(putExercise(mapped.mapping, text, ex))} />
                  <details>
                    <summary>{t('import.mapping')}</summary>
                    <MappingText toml={mapped.mapping} set={(toml) => void rewrite(toml)} />
                  </details>
                </>
              )}
            </>
          )}
          {open && sets[0] && <Table caption={t('import.first.rows')} columns={sets[0].rows[0]!.cells.map((c) => c.text)} rows={sets[0].rows.slice(1, 6).map((r) => r.cells.map((c) => c.text))} numeric={false} />}
          <div class="actions"><button type="button" class={report ? '' : 'first'} disabled={busy !== '' || missing.length > 0} onClick={() => void run(true)}>{t('import.preview')}</button></div>
          {missing.length > 0 && <p class="soft">{t('import.unanswered', { n: missing.length })}</p>}
        </>
      )}
      {error !== undefined && <Failure error={error} />}
      {report && (
        <Report r={report}>
          {report.dry_run !== false && report.change === 0 && (
            <>
              {report.changed > 0 && <Check label={t('import.update', { n: report.changed })} checked={update} set={setUpdate} />}
              {report.bad_rows > 0 && <Check label={t('import.skip', { n: report.bad_rows })} checked={skip} set={setSkip} />}
              {report.doubts.length > 0 && <Check label={t('import.sure', { n: report.doubts.length })} checked={sure} set={setSure} />}
              {!open && !saved && (
                <>
                  <Check label={t('import.keep')} checked={keep} set={setKeep} />
                  {keep && <TextField label={t('import.mapping.name')} value={name} set={setName} />}
                </>
              )}
              <div class="actions">
                <button type="button" class="first" disabled={busy !== '' || (report.bad_rows > 0 && !skip) || (report.doubts.length > 0 && !sure) || (keep && !open && !saved && !name) || (report.added === 0 && !(update && report.changed > 0))} onClick={() => void run(false)}>
                  {t('import.save', { n: report.added })}
                </button>
              </div>
            </>
          )}
        </Report>
      )}
    </main>
  );
}

// What is typed holds when the field is left.
function MappingText({ toml, set }: { toml: string; set: (toml: string) => void }) {
  const [typed, setTyped] = useState(toml);
  useEffect(() => setTyped(toml), [toml]);
  return <label class="field"><span>{t('import.mapping.text')}</span><textarea rows={12} value={typed} spellcheck={false} onInput={(e) => setTyped(e.currentTarget.value)} onBlur={() => typed !== toml && set(typed)} /></label>;
}

function Unknown({ look, put }: { look: Offer | undefined; put: (text: string, exercise: string) => void }) {
  const { data } = useAsk(() => ask('GET /api/exercises', { query: { limit: 400 } }), 'all');
  if (!look?.unknown_exercises.length) return null;
  return (
    <>
      <h3>{t('import.unknown', { n: look.unknown_exercises.length })}</h3>
      <datalist id="exercise-ids">{data?.exercises.map((x) => <option key={x.exercise} value={x.exercise}>{x.name}</option>)}</datalist>
      {look.unknown_exercises.map((u) => (
        <label key={u.text} class="field unknown">
          <span>{t('import.unknown.rows', { text: u.text, n: u.rows, near: u.nearest.join(', ') || '–' })}</span>
          <input list="exercise-ids" onChange={(e) => e.currentTarget.value && put(u.text, e.currentTarget.value)} placeholder={u.nearest[0] ?? ''} />
        </label>
      ))}
    </>
  );
}

// A set as it would stand in the log.
function readText(set: Record<string, unknown>): string {
  const load = set.load as { amount: number; unit: 'kg' | 'lb' | 'mark' } | undefined;
  const rest = typeof set.called_reserve === 'string' ? `, ${t('called')} ${set.called_reserve}` : '';
  return `${String(set.date ?? '')} ${String(set.exercise ?? '')}${set.side && set.side !== 'both' ? `, ${t(set.side === 'left' ? 'side.left' : 'side.right')}` : ''}: ${load ? loadText(load) : ''} × ${String(set.reps ?? '')}${rest}${set.failed ? `, ${t('vessel.failed')}` : ''}`;
}

function Report({ r, children }: { r: ImportReport; children: preact.ComponentChildren }) {
  const stored = r.change > 0;
  return (
    <section>
      <h2>{stored ? t('import.stored', { n: r.added + r.applied }) : r.faults.length ? t('import.faults', { n: r.fault_count ?? r.faults.length }) : t('import.would', { n: r.added })}</h2>
      <p class="figures">
        {t('import.counts', { rows: num(r.rows), added: num(r.added), unchanged: num(r.unchanged), changed: num(r.changed), bad: num(r.bad_rows) })}
        {r.new_lifters.length > 0 && ` ${t('import.new.lifters', { list: r.new_lifters.join(', ') })}`}
      </p>
      {r.faults.length > 0 && (
        <Table caption={t('import.fault.table')} columns={[t('line'), t('column'), t('value'), t('import.expected')]} numeric={false}
          rows={r.faults.slice(0, 100).map((f) => [f.place ?? num(f.line), f.column, f.value, <Said of={f.text} />])} />
      )}
      {!stored && r.doubts.length > 0 && (
        <Table caption={t('doubt.title')} columns={[t('line'), t('value'), t('import.expected')]} numeric={false}
          rows={r.doubts.slice(0, 100).map((f) => [f.place ?? num(f.line), f.value, <Said of={f.text} />])} />
      )}
      {!stored && (r.preview?.length ?? 0) > 0 && (
        <>
          <h3>{t('import.beside')}</h3>
          <Table caption={t('import.beside')} columns={[t('import.place'), t('import.cells'), t('import.as.set')]} numeric={false}
            rows={r.preview!.map((p) => [p.place, <span class="source-cells">{p.cells.filter((c) => c).join(' | ')}</span>, <><b>{p.lifter}</b> {readText(p.set as Record<string, unknown>)}</>])} />
        </>
      )}
      {r.dropped.some((d) => d.rows > 0) && <p class="small soft">{r.dropped.filter((d) => d.rows > 0).map((d, i) => <span key={i}>{i > 0 && '; '}<Said of={d.rule} />: {num(d.rows)}</span>)}</p>}
      {r.unknown_exercises.map((u) => <p key={u.text}>{t('import.unknown.rows', { text: u.text, n: u.rows, near: u.nearest.join(', ') || '–' })}</p>)}
      {r.pains.map((p, i) => <Notice key={i} harm title={t('import.pain', { lifter: p.lifter, exercise: p.exercise })} />)}
      {r.remarks.length > 0 && (
        <details><summary>{t('import.remarks', { n: r.remarks.length })}</summary><SaidList list={r.remarks.slice(0, 100)} /></details>
      )}
      {children}
    </section>
  );
}

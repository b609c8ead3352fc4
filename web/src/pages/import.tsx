// From a spreadsheet to the log: what the columns are, which rows, which faults, and only then saved.
import { useEffect, useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { ImportReport, Suggestion } from '../api/types';
import { Check, Choice, Failure, Loading, Notice, TextField, tell } from '../design/parts';
import { Table } from '../design/Table';
import { num } from '../format';
import { t } from '../text';
import { putExercise, putKey } from '../toml-keys';
import { useAsk } from '../use';

export function ImportPage({ changed }: { changed: () => void }) {
  const [file, setFile] = useState<File>();
  const [text, setText] = useState<Blob>();
  const [lifter, setLifter] = useState('');
  const [look, setLook] = useState<Suggestion>();
  const [toml, setToml] = useState('');
  const [name, setName] = useState('');
  const [saved, setSaved] = useState('');
  const [answers, setAnswers] = useState<Record<string, string>>({});
  const [report, setReport] = useState<ImportReport>();
  const [update, setUpdate] = useState(false);
  const [skip, setSkip] = useState(false);
  const [busy, setBusy] = useState(false);
  const [error, setError] = useState<unknown>();
  const { data: kept, again: keptAgain } = useAsk(() => ask('GET /api/mappings'), 'mappings');
  const { data: roster } = useAsk(() => ask('GET /api/roster', { query: { sort: 'name', limit: 1000 } }), 'names');
  useEffect(() => {
    document.title = `${t('nav.import')} · Ullage`;
  }, []);

  const fresh = () => (setReport(undefined), setError(undefined));
  const choose = async (f: File | undefined) => {
    setFile(f);
    setLook(undefined);
    fresh();
    setSaved('');
    if (!f) return;
    setBusy(true);
    try {
      const blob = new Blob([await f.arrayBuffer()]);
      setText(blob);
      const s = await ask('POST /api/mappings/suggest', { body: blob, type: 'text/csv', timeout: 300000 });
      setLook(s);
      setToml(s.mapping);
      setAnswers({});
      setName(f.name.replace(/\.[^.]*$/, '').toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '') || 'log');
    } catch (e) {
      setError(e);
    }
    setBusy(false);
  };
  const answer = (key: string, value: string) => {
    setAnswers({ ...answers, [key]: value });
    if (value) setToml(putKey(toml, key, value));
    fresh();
  };
  const open = look?.open_format ?? false;
  const missing = open || saved ? [] : (look?.questions ?? []).filter((q) => q.required && !answers[q.key] && !(q.key === 'columns.lifter' && lifter));
  const run = async (dry: boolean) => {
    if (!text || !look) return;
    setBusy(true);
    setError(undefined);
    try {
      let mapping = saved;
      if (!open && !saved) {
        await ask('PUT /api/mappings/{name}', { path: { name }, body: { toml } });
        mapping = name;
        keptAgain();
      }
      const r = await ask('POST /api/imports', {
        query: { name: file?.name, mapping: mapping || undefined, lifter: lifter || undefined, dry_run: dry, update, skip_bad: dry || skip },
        body: text, type: 'text/csv', timeout: 600000,
      });
      setReport(r);
      if (!dry && !r.refused) {
        tell(t('import.done', { n: r.added + r.applied }), r.change || undefined);
        changed();
      }
    } catch (e) {
      setError(e);
    }
    setBusy(false);
  };

  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('nav.import')}</h1>
      <p class="lead">{t('import.text')}</p>
      <div class="fields pair">
        <label class="field"><span>{t('import.file')}</span><input type="file" accept=".csv,.tsv,.txt,text/csv" onChange={(e) => void choose(e.currentTarget.files?.[0])} /></label>
        <label class="field"><span>{t('import.lifter')}</span>
          <input list="lifter-names" value={lifter} onInput={(e) => (setLifter(e.currentTarget.value), fresh())} />
          <datalist id="lifter-names">{roster?.lifters.map((l) => <option key={l.id} value={l.lifter} />)}</datalist></label>
      </div>
      {busy && <Loading what={t('import.reading')} />}
      {look && (
        <>
          <h2>{open ? t('import.open') : t('import.looks', { n: look.headers.length })}</h2>
          <Table caption={t('import.first.rows')} columns={look.headers} rows={look.sample} numeric={false} />
          {!open && (
            <>
              <p class="small soft">{look.found.join('; ')}{look.not_mapped.length ? `. ${t('import.notes', { list: look.not_mapped.join(', ') })}` : ''}</p>
              {(kept?.mappings.length ?? 0) > 0 && (
                <Choice label={t('import.saved')} value={saved} set={(v) => (setSaved(v), fresh())} options={[['', t('import.new')], ...kept!.mappings.map((m) => [m.name, m.name] as [string, string])]} />
              )}
              {!saved && (
                <>
                  {look.questions.map((q) =>
                    q.key === 'columns.lifter' && lifter ? null : (
                      <div key={q.key} class="question">
                        <Choice label={q.text} value={answers[q.key] ?? ''} set={(v) => answer(q.key, v)}
                          options={[['', q.required ? t('import.choose') : t('import.as.offered')], ...q.choices.map((c) => [c, c] as [string, string])]} />
                      </div>
                    ),
                  )}
                  <Unknown look={look} put={(text2, ex) => (setToml(putExercise(toml, text2, ex)), fresh())} />
                  <details>
                    <summary>{t('import.mapping')}</summary>
                    <label class="field"><span>{t('import.mapping.text')}</span><textarea rows={12} value={toml} spellcheck={false} onInput={(e) => (setToml(e.currentTarget.value), fresh())} /></label>
                  </details>
                  <TextField label={t('import.mapping.name')} value={name} set={(v) => (setName(v), fresh())} />
                </>
              )}
            </>
          )}
          <div class="actions"><button type="button" class={report ? '' : 'first'} disabled={busy || missing.length > 0} onClick={() => void run(true)}>{t('import.preview')}</button></div>
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
              <div class="actions">
                <button type="button" class="first" disabled={busy || (report.bad_rows > 0 && !skip) || (report.added === 0 && !(update && report.changed > 0))} onClick={() => void run(false)}>
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

function Unknown({ look, put }: { look: Suggestion; put: (text: string, exercise: string) => void }) {
  const { data } = useAsk(() => ask('GET /api/exercises', { query: { limit: 400 } }), 'all');
  if (!look.unknown_exercises.length) return null;
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
          rows={r.faults.slice(0, 100).map((f) => [num(f.line), f.column, f.value, <span lang="en">{f.text}</span>])} />
      )}
      {r.unknown_exercises.map((u) => <p key={u.text}>{t('import.unknown.rows', { text: u.text, n: u.rows, near: u.nearest.join(', ') || '–' })}</p>)}
      {r.pains.map((p, i) => <Notice key={i} harm title={t('import.pain', { lifter: p.lifter, exercise: p.exercise })} />)}
      {r.remarks.length > 0 && (
        <details><summary>{t('import.remarks', { n: r.remarks.length })}</summary><ul lang="en">{r.remarks.slice(0, 100).map((x, i) => <li key={i}>{x}</li>)}</ul></details>
      )}
      {children}
    </section>
  );
}

// Papers and files to take along: of one lifter, or the sheets of everyone.
import { useEffect, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { Job } from '../api/types';
import { Check, Choice, Empty, Failure, Holds, Said, SaidList, TextField } from '../design/parts';
import { day, localDay, num } from '../format';
import { habits } from '../habits';
import { link, type Route } from '../router';
import { t } from '../text';
import { useAsk } from '../use';
import { FitNow, followJob } from './fit';

// Hands a file to the browser as a download.
export function saveFile(file: Blob, name: string): void {
  const a = document.createElement('a');
  a.href = URL.createObjectURL(file);
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(a.href), 60000);
}

export function PapersPage({ route }: { route: Route; changed: () => void; version: number }) {
  return route.parts[0] ? <OfLifter lifter={route.parts[0]} /> : <OfEveryone />;
}

interface Wish {
  from: string;
  days: number;
  format: 'pdf' | 'html';
  paper: 'a4' | 'letter';
}
const first = (): Wish => ({ from: localDay(), days: 7, format: 'pdf', paper: habits().paper });

function Fields({ wish, set }: { wish: Wish; set: (w: Wish) => void }) {
  return (
    <div class="fields paper-fields">
      <label class="field"><span>{t('papers.from')}</span><input type="date" value={wish.from} onInput={(e) => e.currentTarget.value && set({ ...wish, from: e.currentTarget.value })} /></label>
      <Choice label={t('papers.days')} value={String(wish.days)} set={(v) => set({ ...wish, days: Number(v) })} options={[1, 7, 14, 28, 56].map((n) => [String(n), t('papers.days.n', { n })] as [string, string])} />
      <Choice label={t('papers.format')} value={wish.format} set={(v) => set({ ...wish, format: v as 'pdf' })} options={[['pdf', t('papers.pdf')], ['html', t('papers.html')]]} />
      <Choice label={t('settings.paper')} value={wish.paper} set={(v) => set({ ...wish, paper: v as 'a4' })} options={[['a4', 'A4'], ['letter', 'Letter']]} />
    </div>
  );
}

type Kind = 'session' | 'sheets' | 'overview' | 'report' | 'calendar' | 'workbook';

function OfLifter({ lifter }: { lifter: string }) {
  const { data, error, again } = useAsk(() => ask('GET /api/lifters/{lifter}', { path: { lifter } }), lifter);
  const [wish, setWish] = useState(first);
  const [start, setStart] = useState('');
  const [busy, setBusy] = useState<Kind>();
  const [made, setMade] = useState('');
  const [fault, setFault] = useState<unknown>();
  const [wanted, setWanted] = useState<Kind>();
  const name = data?.profile.lifter ?? lifter;
  useEffect(() => {
    document.title = `${t('papers')}, ${name} · Ullage`;
  }, [name]);
  const make = async (kind: Kind) => {
    setBusy(kind);
    setFault(undefined);
    setMade('');
    const { from, days, format, paper } = wish;
    const on = { path: { lifter }, timeout: 180000 };
    const form = { format, paper, language: habits().language };
    try {
      const file = await (kind === 'session' ? ask('GET /api/lifters/{lifter}/papers/session', { ...on, query: { date: from, ...form } })
        : kind === 'sheets' ? ask('GET /api/lifters/{lifter}/papers/sheets', { ...on, query: { from, days, ...form } })
        : kind === 'overview' ? ask('GET /api/lifters/{lifter}/papers/overview', { ...on, query: { from, days, ...form } })
        : kind === 'report' ? ask('GET /api/lifters/{lifter}/papers/report', { ...on, query: form })
        : kind === 'calendar' ? ask('GET /api/lifters/{lifter}/papers/calendar', { ...on, query: { from, days, language: form.language, ...(start ? { start, zone: Intl.DateTimeFormat().resolvedOptions().timeZone } : {}) } })
        : ask('GET /api/workbook', { query: { lifter }, timeout: 180000 }));
      const end = kind === 'calendar' ? 'ics' : kind === 'workbook' ? 'xlsx' : format;
      const fileName = `${lifter}-${kind}-${kind === 'report' || kind === 'workbook' ? localDay() : from}.${end}`;
      saveFile(file, fileName);
      setMade(fileName);
    } catch (e) {
      setFault(e);
      setWanted(kind);
    }
    setBusy(undefined);
  };
  const row = (kind: Kind, title: string, text: string, extra?: preact.ComponentChildren) => (
    <li>
      <div>
        <h2>{title}</h2>
        <p>{text}</p>
        {extra}
      </div>
      <button type="button" disabled={busy !== undefined} onClick={() => void make(kind)}>{busy === kind ? t('papers.making') : t('papers.make')}<span class="unseen"> {title}</span></button>
    </li>
  );
  const refusal = fault instanceof Refusal ? fault : undefined;
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('papers.of', { name })}</h1>
      <p><a href={link('lifter', lifter)}>{name}</a></p>
      {error !== undefined && <Failure error={error} again={again} />}
      <Fields wish={wish} set={setWish} />
      <p class="made" role="status">{made && t('papers.made', { file: made })}</p>
      {refusal?.code === 'not_fitted' && wanted ? <FitNow lifter={lifter} done={() => void make(wanted)} />
        : refusal?.detail.holds?.length ? <Holds holds={refusal.detail.holds} name={name} />
        : fault !== undefined && <Failure error={fault} />}
      <ul class="paper-list">
        {row('session', t('papers.session', { date: day(wish.from) }), t('papers.session.text'))}
        {row('sheets', t('papers.sheets', { n: wish.days }), t('papers.sheets.text'))}
        {row('overview', t('papers.overview', { n: wish.days }), t('papers.overview.text'))}
        {row('report', t('papers.report'), t('papers.report.text'))}
        {row('calendar', t('papers.calendar', { n: wish.days }), t('papers.calendar.text'),
          <TextField label={t('papers.start')} hint={t('papers.start.hint')} value={start} set={setStart} inputMode="numeric" />)}
        {row('workbook', t('papers.workbook'), t('papers.workbook.text'))}
      </ul>
    </main>
  );
}

interface Made {
  files: number;
  sessions: number;
  without: string[];
  paper: string | null;
}
function OfEveryone() {
  const [wish, setWish] = useState(first);
  const [job, setJob] = useState<Job>();
  const [book, setBook] = useState(false);
  const [fault, setFault] = useState<unknown>();
  const [everyone, setEveryone] = useState(false);
  const { data: about } = useAsk(() => ask('GET /api/about'), 'about');
  useEffect(() => {
    document.title = `${t('papers')} · Ullage`;
  }, []);
  const running = job?.state === 'running';
  useEffect(() => (job && running ? followJob(job.job, setJob) : undefined), [job?.job, running]);
  const result = job?.state === 'done' ? (job.result as unknown as Made) : undefined;
  const fetchMade = async (paper: string) => {
    try {
      saveFile(await ask('GET /api/papers/{paper}', { path: { paper }, timeout: 180000 }), `sheets-${wish.from}.zip`);
    } catch (e) {
      setFault(e);
    }
  };
  const start = async () => {
    setFault(undefined);
    setJob(undefined);
    try {
      setJob(await ask('POST /api/papers', { body: { from: wish.from, days: wish.days, format: wish.format, paper: wish.paper, language: habits().language } }));
    } catch (e) {
      setFault(e);
    }
  };
  const workbook = async () => {
    setBook(true);
    setFault(undefined);
    try {
      saveFile(await ask('GET /api/workbook', { timeout: 600000 }), `ullage-${localDay()}.xlsx`);
    } catch (e) {
      setFault(e);
    }
    setBook(false);
  };
  const many = (about?.lifters ?? 0) > 50;
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('papers.all')}</h1>
      <p class="lead">{t('papers.all.text')}</p>
      {about?.empty ? (
        <Empty title={t('papers.nobody')}><a class="key first" href="#/">{t('nav.roster')}</a></Empty>
      ) : (
        <>
          <Fields wish={wish} set={setWish} />
          {many && <Check label={t('papers.many', { all: num(about!.lifters) })} checked={everyone} set={setEveryone} />}
          <ul class="paper-list">
            <li>
              <div>
                <h2>{t('papers.all.sheets', { n: wish.days })}</h2>
                <p>{t('papers.all.sheets.text')}</p>
              </div>
              <button type="button" class="first" disabled={running || (many && !everyone)} onClick={() => void start()}>{t('papers.make')}<span class="unseen"> {t('papers.all.sheets', { n: wish.days })}</span></button>
            </li>
            <li>
              <div>
                <h2>{t('papers.workbook')}</h2>
                <p>{t('papers.workbook.all')}</p>
              </div>
              <button type="button" disabled={book} onClick={() => void workbook()}>{book ? t('papers.making') : t('papers.make')}<span class="unseen"> {t('papers.workbook')}</span></button>
            </li>
          </ul>
          {running && (
            <div role="status">
              <Said as="p" class="lead" of={job!.text} />
              <progress max={1} value={job!.progress} aria-label={t('papers.making')} />
              <p class="actions"><button type="button" onClick={() => void ask('DELETE /api/jobs/{job}', { path: { job: job!.job } }).then(setJob, setFault)}>{t('papers.stop')}</button></p>
            </div>
          )}
          {job && job.state === 'cancelled' && <p role="status">{t('papers.stopped')}</p>}
          {job?.state === 'failed' && <Failure error={new Error((job.error as { message?: string } | null)?.message ?? '')} />}
          {result && (
            <div role="status">
              <h2>{t('papers.ready', { sessions: t('papers.sessions', { n: result.sessions }), lifters: t('papers.lifters', { n: result.files }) })}</h2>
              {result.paper && <p><button type="button" class="first" onClick={() => void fetchMade(result.paper!)}>{t('papers.fetch')}</button></p>}
              {result.without.length > 0 && (
                <>
                  <h3>{t('papers.without', { n: result.without.length })}</h3>
                  <SaidList list={result.without.slice(0, 200)} />
                </>
              )}
            </div>
          )}
          {fault !== undefined && <Failure error={fault} />}
        </>
      )}
    </main>
  );
}

// The user's data: history with undo, export, backup, restore, what the checks say.
import { useEffect, useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { Finding } from '../api/types';
import { Dialog, Empty, Failure, Loading, Said, tell } from '../design/parts';
import { day, num, time } from '../format';
import { t } from '../text';
import { useAsk } from '../use';

export function DataPage({ changed, version }: { changed: () => void; version: number }) {
  const [limit, setLimit] = useState(30);
  const { data: about } = useAsk(() => ask('GET /api/about'), `a${version}`);
  const { data, error, again } = useAsk(() => ask('GET /api/history', { query: { limit } }), `${limit}|${version}`);
  const [fault, setFault] = useState<unknown>();
  const [file, setFile] = useState<File>();
  const [busy, setBusy] = useState(false);
  useEffect(() => {
    document.title = `${t('nav.data')} · Ullage`;
  }, []);
  const undo = async (change: number) => {
    try {
      const a = await ask('POST /api/undo', { body: { change } });
      tell(t('undone'), a.change);
      setFault(undefined);
      changed();
      again();
    } catch (e) {
      setFault(e);
    }
  };
  const restore = async () => {
    setBusy(true);
    try {
      const r = await ask('POST /api/restore', { query: { confirm: 'replace' }, body: file!, type: 'application/octet-stream', timeout: 300000 });
      setFile(undefined);
      tell(t('restored', { kept: r.kept }));
      changed();
    } catch (e) {
      setFault(e);
      setFile(undefined);
    }
    setBusy(false);
  };
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1>{t('nav.data')}</h1>
      <p class="lead">{t('data.text')}</p>
      {about && <p class="soft small">{t('data.file', { file: about.data_file, n: num(about.lifters), version: about.version })}</p>}
      {fault !== undefined && <Failure error={fault} />}
      <div class="actions">
        <a class="key first" href="api/backup" download>{t('backup')}</a>
        <a class="key" href="api/export" download>{t('export.all')}</a>
        <a class="key" href="#/papers">{t('papers.all')}</a>
        <label class="key file-key">{t('restore')}<input class="unseen" type="file" onChange={(e) => (setFile(e.currentTarget.files?.[0]), (e.currentTarget.value = ''))} /></label>
      </div>
      {file && (
        <Dialog title={t('restore.title')} close={() => setFile(undefined)}>
          <p>{t('restore.text', { file: file.name })}</p>
          <div class="actions">
            <button type="button" class="danger" disabled={busy} onClick={() => void restore()}>{t('restore.yes')}</button>
            <button type="button" onClick={() => setFile(undefined)}>{t('cancel')}</button>
          </div>
        </Dialog>
      )}
      <h2>{t('history')}</h2>
      {!data && (error ? <Failure error={error} again={again} /> : <Loading />)}
      {data && data.changes.length === 0 && <Empty title={t('history.none')} />}
      {data && data.changes.length > 0 && (
        <div class="table-scroll" tabIndex={0} role="region" aria-label={t('history')}>
          <table class="numeric">
            <thead><tr><th scope="col">{t('when')}</th><th scope="col">{t('what')}</th><th scope="col">{t('who')}</th><th scope="col"><span class="unseen">{t('undo')}</span></th></tr></thead>
            <tbody>
              {data.changes.map((c) => (
                <tr key={c.change}>
                  <th scope="row">{day(c.time)} {Number.isNaN(Date.parse(c.time)) ? '' : time(Date.parse(c.time))}</th>
                  <td class="serif"><Said of={c.what} />{c.undone_by !== null ? <span class="soft"> ({t('undone')})</span> : ''}</td>
                  <td>{c.who}</td>
                  <td class="right">{!c.final && c.undone_by === null && <button type="button" class="plain" onClick={() => void undo(c.change)}>{t('undo')}<span class="unseen"> {c.what}</span></button>}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {data && data.changes.length >= limit && <p class="actions"><button type="button" onClick={() => setLimit((n) => n + 100)}>{t('more')}</button></p>}
      <Checks />
    </main>
  );
}
function Checks() {
  // Every page of a large file is read: only when it is asked for.
  const [data, setData] = useState<{ findings: Finding[] }>();
  const [busy, setBusy] = useState(false);
  const [error, setError] = useState<unknown>();
  const look = () => {
    setBusy(true);
    setError(undefined);
    ask('GET /api/doctor', { timeout: 600000 }).then(setData, setError).finally(() => setBusy(false));
  };
  if (!data)
    return (
      <>
        <h2>{t('checks.title')}</h2>
        <p>{t('checks.text')}</p>
        {error !== undefined && <Failure error={error} />}
        {busy ? <Loading what={t('checks.busy')} /> : <div class="actions"><button type="button" onClick={look}>{t('checks.look')}</button></div>}
      </>
    );
  const bad = data.findings.filter((f) => f.grade !== 'fine');
  return (
    <>
      <h2>{bad.length ? t('checks.some', { n: bad.length }) : t('checks.fine', { n: data.findings.length })}</h2>
      {bad.map((f, i) => <p key={i} class={f.grade === 'fault' ? 'harm' : ''}>{f.subject}: <Said of={f.text} /></p>)}
    </>
  );
}

// The plan of a block: asked for, worked out while the page watches, held against other prices, changed by hand, accepted
// or turned down; and what stood before.
import { useEffect, useRef, useState } from 'preact/hooks';
import { Refusal, ask } from '../api/client';
import type { BlockResult, BlockWish, Blocks, Job, LifterPage } from '../api/types';
import { Empty, Failure, Holds, Loading, Notice, Said, SaidList } from '../design/parts';
import { day } from '../format';
import { t } from '../text';
import { sayText } from '../text/said';
import { useAsk } from '../use';
import { begin, forget, stopWork, useWork } from '../work';
import { FitNow } from './fit';
import { AskForm } from './plan-ask';
import { Grid, Sheet, gapText } from './plan-sheet';
import { LighterMissing, SteerPart } from './steer';

export function PlanPart({ page, changed, version, template }: { page: LifterPage; changed: () => void; version: number; template: string }) {
  const id = page.profile.id;
  const work = `plan ${id}`;
  const { data, error, again } = useAsk(() => ask('GET /api/lifters/{lifter}/blocks', { path: { lifter: id } }), `${id}|${version}`);
  const [none, setNone] = useState<BlockResult['none']>(null);
  const [failed, setFailed] = useState<unknown>();
  const [anew, setAnew] = useState(!!template);
  const [unfit, setUnfit] = useState(false);
  const [notice, setNotice] = useState('');
  const stopped = useRef<'keep' | 'drop' | undefined>(undefined);
  const job = useWork(work, (ended) => {
    if (ended.state === 'done') {
      const result = ended.result as unknown as BlockResult;
      setNone(result.none);
      if (!result.none) {
        setAnew(false);
        void begin(`curve ${id}`, ask('POST /api/lifters/{lifter}/blocks/curve', { path: { lifter: id }, body: { watched: true } })).catch(() => undefined);
      }
      again();
      changed();
    } else if (ended.state === 'cancelled') setNotice(stopped.current === 'keep' ? t('plan.too.early') : '');
    else setFailed(new Error((ended.error as { message?: string } | null)?.message ?? t('plan.failed')));
  });
  const running = job?.state === 'running';
  const plan = async (wish: BlockWish) => {
    setFailed(undefined);
    setNone(null);
    setNotice('');
    stopped.current = undefined;
    forget(work);
    try {
      await begin(work, ask('POST /api/lifters/{lifter}/blocks', { path: { lifter: id }, body: { ...wish, watched: true } }));
    } catch (e) {
      setFailed(e);
    }
  };
  if (unfit) return <FitNow lifter={id} done={() => (setUnfit(false), again())} />;
  if (!data) return error ? <Failure error={error} again={again} /> : <Loading />;
  if (data.holds) return <Empty title={t('plan.held')} />;
  const shown = data.proposed ?? data.accepted;
  return (
    <>
      {running && <Working job={job} stop={(drop) => ((stopped.current = drop ? 'drop' : 'keep'), stopWork(work, drop))} />}
      {failed !== undefined &&
        (failed instanceof Refusal && failed.detail.holds?.length ? <Holds holds={failed.detail.holds} name={data.lifter} /> : <Failure error={failed} />)}
      {notice && !running && <Notice live title={notice} />}
      {none && !running && (
        <Notice live title={t('plan.none')}>
          <SaidList list={none.rules} />
        </Notice>
      )}
      {!anew && !running && <SteerPart lifter={id} version={version} changed={changed} />}
      {!anew && data.accepted && <LighterMissing lifter={id} version={version} weeks={data.accepted.block.weeks} busy={running} plan={() => void plan({})} />}
      {(anew || !shown) && (
        <div hidden={running}>
          <AskForm page={page} data={data} template={template} busy={running} plan={plan} close={shown ? () => setAnew(false) : undefined} />
        </div>
      )}
      {!anew && shown && (
        <Sheet key={shown.number} kept={shown} data={data} plan={plan} busy={running} unfit={() => setUnfit(true)} done={() => (again(), changed())} anew={() => setAnew(true)} />
      )}
      {data.blocks.length > 0 && !anew && <History data={data} shown={shown?.number} />}
    </>
  );
}

function Working({ job, stop }: { job: Job; stop: (drop: boolean) => void }) {
  const [stopping, setStopping] = useState(false);
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => box.current?.scrollIntoView({ block: 'center' }), []);
  const end = (drop: boolean) => (setStopping(true), stop(drop));
  return (
    <div class="notice" ref={box}>
      <p class="sentence" role="status">{t(stopping ? 'plan.stopping' : 'plan.working')}</p>
      <Said as="p" class="soft" own of={job.text} />
      <p><progress max={1} value={job.progress} aria-label={t('plan.working')} /></p>
      <div class="actions">
        <button type="button" disabled={stopping} onClick={() => end(false)}>{t('plan.stop')}</button>
        <button type="button" disabled={stopping} onClick={() => end(true)}>{t('plan.drop')}</button>
      </div>
    </div>
  );
}

// What was planned before, whole, with the coach's word on it.
function History({ data, shown }: { data: Blocks; shown?: number }) {
  const [open, setOpen] = useState<number>();
  const rows = data.blocks.filter((b) => b.number !== shown);
  if (!rows.length) return null;
  return (
    <>
      <h2>{t('plan.history')}</h2>
      <ul class="plain-list block-history">
        {rows.map((b) => (
          <li key={b.number}>
            <p>
              <span class="serif">{b.name ? sayText(b.name) : t('plan.block')}, {b.from ? `${day(b.from)} – ${day(b.until)}` : t('plan.empty')}</span>: {t(`plan.state.${b.state}`)}
              {b.said && <>, “{b.said}”</>}. <span class="soft">{t('plan.made', { day: day(b.made) })}</span>{' '}
              <button type="button" class="plain" aria-expanded={open === b.number} onClick={() => setOpen(open === b.number ? undefined : b.number)}>
                {t(open === b.number ? 'plan.close' : 'plan.look')}<span class="unseen"> {b.name ? sayText(b.name) : t('plan.block')} {b.number}</span>
              </button>
            </p>
            {open === b.number && <Old lifter={data.id} number={b.number} today={data.today} />}
          </li>
        ))}
      </ul>
    </>
  );
}
function Old({ lifter, number, today }: { lifter: string; number: number; today: string }) {
  const { data, error } = useAsk(() => ask('GET /api/lifters/{lifter}/blocks/{number}', { path: { lifter, number } }), `${lifter}|${number}`);
  if (!data) return error ? <Failure error={error} /> : <Loading />;
  return (
    <>
      {data.block.weeks.map((w, i) => (
        <div key={w.monday}>
          <h3>{t('plan.week.n', { n: i + 1 })}, {day(w.monday)}</h3>
          <Grid week={w} number={i + 1} today={today} label={`${t('plan.block')} ${number}, ${t('plan.week.n', { n: i + 1 })}`} />
        </div>
      ))}
      <p class="small soft">{gapText(data.block)}</p>
    </>
  );
}

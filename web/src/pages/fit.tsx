// Works the estimate out when it is out of date, and shows how far it is.
import { useEffect, useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { Job } from '../api/types';
import { Failure } from '../design/parts';
import { t } from '../text';

// Follows a job to its end: events where they come, and asking again where they do not.
export function followJob(id: string, told: (job: Job) => void): () => void {
  let over = false;
  const source = new EventSource(`api/jobs/${encodeURIComponent(id)}/events`);
  const take = (job: Job) => {
    if (over) return;
    if (job.state !== 'running') stop();
    told(job);
  };
  source.addEventListener('job', (e) => take(JSON.parse((e as MessageEvent<string>).data) as Job));
  const timer = setInterval(() => void ask('GET /api/jobs/{job}', { path: { job: id } }).then(take, () => {}), 2000);
  function stop() {
    over = true;
    source.close();
    clearInterval(timer);
  }
  return stop;
}

export function FitNow({ lifter, done }: { lifter: string; done: () => void }) {
  const [job, setJob] = useState<Job>();
  const [error, setError] = useState<unknown>();
  useEffect(() => {
    let stop = () => {};
    ask('POST /api/fits', { body: { lifters: [lifter] } }).then((j) => {
      setJob(j);
      const told = (now: Job) => {
        setJob(now);
        if (now.state === 'done') done();
        if (now.state === 'failed' || now.state === 'cancelled') setError(new Error((now.error as { message?: string } | null)?.message ?? t('fit.failed')));
      };
      if (j.state === 'running') stop = followJob(j.job, told);
      else told(j);
    }, setError);
    return () => stop();
  }, [lifter]);
  if (error !== undefined) return <Failure error={error} />;
  return (
    <div class="empty" role="status">
      <p class="lead">{t('fit.now')}</p>
      <progress max={1} value={job?.progress ?? 0} aria-label={t('fit.now')} />
    </div>
  );
}

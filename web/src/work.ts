// Work in the background that this window waits for. It is followed as long as the window lives, whatever page is shown,
// and taken up again after a reload; the program drops what no window follows any more.
import { useEffect, useState } from 'preact/hooks';
import { ask } from './api/client';
import type { Job } from './api/types';
import { followJob } from './pages/fit';

const all = new Map<string, Job>();
const listeners = new Set<() => void>();
const kept = (key: string) => `work ${key}`;

function put(key: string, job: Job) {
  all.set(key, job);
  if (job.state === 'running') sessionStorage.setItem(kept(key), job.job);
  else sessionStorage.removeItem(kept(key));
  for (const l of listeners) l();
}
function follow(key: string, job: Job) {
  put(key, job);
  if (job.state === 'running') followJob(job.job, (now) => put(key, now));
}
export async function begin(key: string, started: Promise<Job>): Promise<void> {
  follow(key, await started);
}
export function forget(key: string): void {
  if (all.delete(key)) for (const l of listeners) l();
}
export function stopWork(key: string, drop: boolean): void {
  const job = all.get(key);
  if (job) void ask('DELETE /api/jobs/{job}', { path: { job: job.job }, query: { drop } }).catch(() => undefined);
}
// The newest of this key; `ended` is told once, when it ends here.
export function useWork(key: string, ended: (job: Job) => void): Job | undefined {
  const [job, setJob] = useState(all.get(key));
  useEffect(() => {
    let was = all.get(key)?.state;
    const look = () => {
      const now = all.get(key);
      setJob(now);
      if (was === 'running' && now && now.state !== 'running') ended(now);
      was = now?.state;
    };
    listeners.add(look);
    setJob(all.get(key));
    const before = sessionStorage.getItem(kept(key));
    if (before && !all.has(key)) {
      sessionStorage.removeItem(kept(key));
      ask('GET /api/jobs/{job}', { path: { job: before } }).then((j) => j.state === 'running' && follow(key, j), () => undefined);
    }
    return () => void listeners.delete(look);
  }, [key]);
  return job;
}

// Asking the program. Every call is typed by docs/api/openapi.json.
//   const page = await ask('GET /api/lifters/{lifter}', { path: { lifter: 'ines' } });
import { withNames } from '../text/names';
import type { Error as ErrorBody, Operations } from './types';

export type { ErrorBody };
type Detail = ErrorBody['error'];

// The program answered no.
export class Refusal extends Error {
  constructor(
    readonly status: number,
    readonly detail: Detail,
  ) {
    super(detail.message);
  }
  get code() {
    return this.detail.code;
  }
}
// Nothing answered: the program is not running, or there is no signal.
export class Away extends Error {}

type Given<T> = [keyof T] extends [never] ? { [K in never]: unknown } : T;
export type Arguments<K extends keyof Operations> = {
  path?: Given<Operations[K]['path']>;
  query?: Given<Operations[K]['query']>;
  body?: Operations[K]['body'];
  type?: string; // of the body, when it is no JSON
  timeout?: number; // ms
};

let away = false;
const listeners = new Set<(away: boolean) => void>();
export function isAway(): boolean {
  return away;
}
export function onAway(listener: (away: boolean) => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
function setAway(now: boolean) {
  if (now === away) return;
  away = now;
  for (const l of listeners) l(away);
}

export function address(operation: string, path: Record<string, unknown> = {}, query: Record<string, unknown> = {}): string {
  const url = operation
    .slice(operation.indexOf(' ') + 1)
    .replace(/\{(\w+)\}/g, (_, name: string) => encodeURIComponent(String(path[name])))
    .slice(1);
  const search = new URLSearchParams();
  for (const [k, v] of Object.entries(query)) if (v !== undefined && v !== null && v !== '') search.set(k, String(v));
  const text = search.toString();
  return text ? `${url}?${text}` : url;
}

export async function ask<K extends keyof Operations>(operation: K, given: Arguments<K> = {}): Promise<Operations[K]['answer']> {
  const method = operation.slice(0, operation.indexOf(' '));
  let response: Response;
  try {
    const body = given.body as unknown;
    const raw = given.type !== undefined;
    response = await fetch(address(operation, given.path as Record<string, unknown>, given.query as Record<string, unknown>), {
      method,
      headers: method === 'GET' ? {} : { 'Content-Type': given.type ?? 'application/json' },
      body: method === 'GET' || method === 'DELETE' ? undefined : raw ? (body as BodyInit) : JSON.stringify(body ?? {}),
      cache: 'no-store',
      signal: AbortSignal.timeout(given.timeout ?? 60000),
    });
  } catch (e) {
    setAway(true);
    throw new Away(String(e));
  }
  const type = response.headers.get('Content-Type') ?? '';
  if (!type) {
    if (response.ok) {
      setAway(false);
      return undefined as unknown as Operations[K]['answer'];
    }
  }
  if (!response.ok) {
    let detail: Detail = { code: 'internal', message: `${response.status} ${response.statusText}`, where: null };
    try {
      detail = ((await response.json()) as ErrorBody).error;
    } catch {
      // A proxy in between, or the program on its way down: as good as away.
      if (response.status >= 502) {
        setAway(true);
        throw new Away(String(response.status));
      }
    }
    setAway(false);
    throw new Refusal(response.status, detail);
  }
  setAway(false);
  return (type.includes('json') ? withNames(await response.json()) : await response.blob()) as Operations[K]['answer'];
}

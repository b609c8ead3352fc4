// Sessions kept in this browser, so that a reload, a locked screen or a program that went away loses nothing.
import type { Session } from './session';

const PREFIX = 'ullage.floor.';

export const keyOf = (lifter: string, date: string, session = '') => `${PREFIX}${date}.${lifter}.${session}`;

export function keptSession(key: string): Session | undefined {
  try {
    const text = localStorage.getItem(key);
    const kept = text ? (JSON.parse(text) as Session) : undefined;
    return kept?.floor && Array.isArray(kept.waiting) ? kept : undefined;
  } catch {
    return undefined;
  }
}
// False: the browser keeps nothing (private window, full); what is not sent yet would be lost with the page.
export function keepSession(key: string, s: Session): boolean {
  try {
    localStorage.setItem(key, JSON.stringify(s));
    return true;
  } catch {
    return false;
  }
}
// Everything that still waits, of any day; and tidies away what is older than a week and complete.
export function keysWithWaiting(today: string): string[] {
  const keys: string[] = [];
  const old: string[] = [];
  try {
    for (let i = 0; i < localStorage.length; i++) {
      const key = localStorage.key(i)!;
      if (!key.startsWith(PREFIX)) continue;
      if (keptSession(key)?.waiting.length) keys.push(key);
      else if ((Date.parse(today) - Date.parse(key.slice(PREFIX.length, PREFIX.length + 10))) / 86400000 > 7) old.push(key);
    }
    for (const key of old) localStorage.removeItem(key);
  } catch {
    // nothing kept
  }
  return keys;
}
export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('');
}

// A question to the program that is asked again when its key changes.
import { useCallback, useLayoutEffect, useRef, useState } from 'preact/hooks';

export interface Asked<T> {
  data?: T;
  error?: unknown;
  again: () => void;
}
// What a part of a page will ask as soon as it is there can be asked ahead: the answer under way is then taken, once.
const ahead = new Map<string, { answer: Promise<unknown>; at: number }>();
const AHEAD_MS = 3000;
export function askAhead<T>(key: string, question: () => Promise<T>): Promise<T> {
  const answer = question();
  answer.catch(() => undefined); // told where it is taken
  ahead.set(key, { answer, at: performance.now() });
  return answer;
}
export function asked<T>(key: string, question: () => Promise<T>): Promise<T> {
  const early = ahead.get(key);
  ahead.delete(key);
  return early && performance.now() - early.at < AHEAD_MS ? (early.answer as Promise<T>) : question();
}

// While a new answer is under way the old one stays; a later question's answer is never overtaken by an earlier one's.
export function useAsk<T>(question: () => Promise<T>, key: string): Asked<T> {
  const [state, setState] = useState<{ data?: T; error?: unknown; key?: string }>({});
  const [round, setRound] = useState(0);
  const newest = useRef(0);
  const again = useCallback(() => setRound((n) => n + 1), []);
  // Before the page is painted: each question that waits for a picture nobody looks at costs a frame.
  useLayoutEffect(() => {
    const mine = ++newest.current;
    question().then(
      (data) => mine === newest.current && setState({ data, key }),
      (error: unknown) => mine === newest.current && setState((s) => ({ data: s.data, error, key })),
    );
    return () => void (newest.current === mine && newest.current++);
  }, [key, round]);
  return { data: state.data, error: state.error, again };
}

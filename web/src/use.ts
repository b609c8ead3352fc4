// A question to the program that is asked again when its key changes.
import { useCallback, useEffect, useRef, useState } from 'preact/hooks';

export interface Asked<T> {
  data?: T;
  error?: unknown;
  again: () => void;
}
// While a new answer is under way the old one stays; a later question's answer is never overtaken by an earlier one's.
export function useAsk<T>(question: () => Promise<T>, key: string): Asked<T> {
  const [state, setState] = useState<{ data?: T; error?: unknown; key?: string }>({});
  const [round, setRound] = useState(0);
  const newest = useRef(0);
  const again = useCallback(() => setRound((n) => n + 1), []);
  useEffect(() => {
    const mine = ++newest.current;
    question().then(
      (data) => mine === newest.current && setState({ data, key }),
      (error: unknown) => mine === newest.current && setState((s) => ({ data: s.data, error, key })),
    );
    return () => void (newest.current === mine && newest.current++);
  }, [key, round]);
  return { data: state.data, error: state.error, again };
}

// How wide a picture may be: pictures are drawn anew for a narrow window rather than shrunk with their letters.
import { useEffect, useRef, useState } from 'preact/hooks';

export function useWidth(most: number) {
  const ref = useRef<HTMLElement>(null);
  const [width, setWidth] = useState(() => Math.min(most, Math.max(240, innerWidth - 32)));
  useEffect(() => {
    const box = ref.current?.parentElement;
    if (!box) return;
    const measure = () => box.clientWidth > 0 && setWidth(Math.min(most, Math.max(240, Math.floor(box.clientWidth))));
    measure();
    const watch = new ResizeObserver(measure);
    watch.observe(box);
    return () => watch.disconnect();
  }, [most]);
  return { ref, width };
}

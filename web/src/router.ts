// Pages are addressed after the hash, so the program serves one document.
//   #/lifter/ines/log?exercise=bench-press
export interface Route {
  page: string;
  parts: string[];
  query: URLSearchParams;
}
export function parseRoute(hash: string): Route {
  const [path = '', search = ''] = hash.replace(/^#\/?/, '').split('?', 2);
  const parts = path.split('/').filter(Boolean).map((p) => {
    try {
      return decodeURIComponent(p);
    } catch {
      return p;
    }
  });
  return { page: parts[0] ?? '', parts: parts.slice(1), query: new URLSearchParams(search) };
}
export function link(page: string, ...parts: string[]): string {
  return `#/${[page, ...parts].filter(Boolean).map(encodeURIComponent).join('/')}`;
}

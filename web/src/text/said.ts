// What the program says comes and is kept in English. In the other language it is said by patterns (the folder said), which
// are fetched after the page; a sentence that no pattern fits stays as it came, marked as English.
export type Sayer = (text: string) => string | undefined;

let sayer: Sayer | undefined;
let english = true;
const heard = new Set<() => void>();

export function setSayer(now: Sayer | undefined, isEnglish: boolean): void {
  sayer = now;
  english = isEnglish;
  for (const listen of heard) listen();
}
export function onSayer(listen: () => void): () => void {
  heard.add(listen);
  return () => heard.delete(listen);
}
// The language to mark the text with, if it is not that of the page.
export function said(text: string): { text: string; lang?: 'en' } {
  const other = sayer?.(text);
  if (other !== undefined) return { text: other };
  return english ? { text } : { text, lang: 'en' };
}
// Where a text stands alone, as in a title or among figures.
export const sayText = (text: string): string => said(text).text;

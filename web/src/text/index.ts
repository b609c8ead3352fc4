// The catalogue of texts. English is always there; the other language comes when it is chosen.
//   t('set.of', { n: 3, of: 4 })
import { en, type Text, type TextKey } from './en';
import { setNames } from './names';
import { setSayer } from './said';

export type { TextKey };
type Values = Record<string, string | number>;

let catalogue: Record<TextKey, Text> = en;
let rules = new Intl.PluralRules('en');

export async function setLanguage(language: 'en' | 'de'): Promise<void> {
  catalogue = language === 'de' ? (await import('./de')).de : en;
  rules = new Intl.PluralRules(language);
  if (typeof document !== 'undefined') document.documentElement.lang = language;
  // The program's own sentences follow: the page need not wait for them.
  const mine = catalogue;
  setSayer(undefined, language === 'en');
  if (language === 'en') setNames({});
  else void import('../../../data/words/exercises_de.json').then((m) => mine === catalogue && setNames(m.default), () => undefined);
  if (language === 'de') void import('./said/german').then((m) => mine === catalogue && setSayer(m.german, false), () => undefined);
}

export function fill(text: Text, values: Values | undefined, plural: Intl.PluralRules): string {
  const chosen =
    typeof text === 'string' ? text : plural.select(Number(values?.n ?? 0)) === 'one' ? text.one : text.other;
  return values ? chosen.replace(/\{(\w+)\}/g, (all, name: string) => (name in values ? String(values[name]) : all)) : chosen;
}
export function t(key: TextKey, values?: Values): string {
  return fill(catalogue[key], values, rules);
}

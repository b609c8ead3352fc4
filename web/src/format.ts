// Numbers, loads, dates and times by the user's habits.
import type { Interval, Load } from './api/types';
import { habits } from './habits';
import { t } from './text';

const KG_PER_LB = 0.45359237;

const numberFormats = new Map<string, Intl.NumberFormat>();
function numberFormat(most: number, least = 0): Intl.NumberFormat {
  const region = habits().decimal === 'comma' ? 'de-DE' : 'en-GB';
  const key = `${region}/${least}/${most}`;
  let format = numberFormats.get(key);
  if (!format) {
    format = new Intl.NumberFormat(region, { minimumFractionDigits: least, maximumFractionDigits: most });
    numberFormats.set(key, format);
  }
  return format;
}

// At most `digits` decimals, none that are zero; a true minus sign.
export function num(value: number, digits = 2): string {
  const text = numberFormat(digits).format(value === 0 ? 0 : value).replace('-', '−');
  return /^−0([.,]0*)?$/.test(text) ? text.slice(1) : text;
}
// Always `digits` decimals.
export function fixed(value: number, digits: number): string {
  const text = numberFormat(digits, digits).format(value).replace('-', '−');
  return /^−0([.,]0*)?$/.test(text) ? text.slice(1) : text;
}
// "118–124"; "−0.1 to 0.6" where a dash would be read as a minus.
export function range(lo: number, hi: number, digits = 1): string {
  const a = fixed(lo, digits);
  const b = fixed(hi, digits);
  if (a === b) return a;
  return lo < 0 || hi < 0 ? `${a} ${t('to')} ${b}` : `${a}–${b}`;
}
// "121 kg (118–124)"
export function withRange(i: Interval, digits: number, unit = ''): string {
  return `${fixed(i.median, digits)}${unit ? ` ${unit}` : ''} (${range(i.lo80, i.hi80, digits)})`;
}

export type MassUnit = 'kg' | 'lb';
export function inUnit(kg: number, unit: MassUnit): number {
  return unit === 'lb' ? kg / KG_PER_LB : kg;
}
export function intervalIn(i: Interval, unit: MassUnit): Interval {
  return { median: inUnit(i.median, unit), lo80: inUnit(i.lo80, unit), hi80: inUnit(i.hi80, unit), sd: inUnit(i.sd, unit) };
}
export function unitName(unit: string): string {
  return unit === 'mark' ? t('unit.mark') : unit;
}
// "47.5 kg", in the unit it was written in.
export function load(l: Load): string {
  return `${num(l.amount, 3)} ${unitName(l.unit)}`;
}
export function kilograms(l: Load): number {
  return l.unit === 'lb' ? l.amount * KG_PER_LB : l.amount;
}
// "20 + 15 + 5"; with units when they are mixed.
export function plates(list: Load[]): string {
  if (!list.length) return '';
  const mixed = list.some((p) => p.unit !== list[0]!.unit);
  return list.map((p) => (mixed ? load(p) : num(p.amount, 3))).join(' + ');
}
// Chances are never shown as certain.
export function chance(p: number): string {
  if (p < 0.005) return t('chance.below');
  if (p > 0.995) return t('chance.above');
  return t('chance', { n: num(Math.round(p * 100)) });
}

// A number as people type it: comma or point for decimals, grouping blanks. Empty for what is none.
export function readNumber(text: string): number | undefined {
  const plain = text.trim().replace(/[\s']/g, '').replace('−', '-').replace(',', '.');
  return /^-?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : undefined;
}

// Days are the lifter's local days: no time zone touches them.
export function day(iso: string | null | undefined, style: 'short' | 'long' | 'weekday' = 'short'): string {
  const m = /^(\d{4})-(\d{2})-(\d{2})/.exec(iso ?? '');
  if (!m) return '–';
  const date = new Date(Date.UTC(Number(m[1]), Number(m[2]) - 1, Number(m[3])));
  const { date_format, language } = habits();
  const options: Intl.DateTimeFormatOptions =
    style === 'short'
      ? { day: 'numeric', month: 'short', year: 'numeric' }
      : style === 'weekday'
        ? { weekday: 'short', day: 'numeric', month: 'short' }
        : { weekday: 'long', day: 'numeric', month: 'long', year: 'numeric' };
  if (date_format === 'iso') {
    const iso10 = `${m[1]}-${m[2]}-${m[3]}`;
    if (style === 'short') return iso10;
    return `${new Intl.DateTimeFormat(language, { weekday: style === 'long' ? 'long' : 'short', timeZone: 'UTC' }).format(date)} ${iso10}`;
  }
  const region = language === 'de' ? 'de-DE' : date_format === 'mdy' ? 'en-US' : 'en-GB';
  return new Intl.DateTimeFormat(region, { ...options, timeZone: 'UTC' }).format(date);
}
export function daysBetween(from: string, to: string): number {
  return Math.round((Date.parse(`${to.slice(0, 10)}T00:00Z`) - Date.parse(`${from.slice(0, 10)}T00:00Z`)) / 86400000);
}
export function ago(iso: string | null | undefined, today: string): string {
  if (!iso) return t('never');
  const n = daysBetween(iso, today);
  if (n === 0) return t('today');
  if (n === 1) return t('yesterday');
  return n > 1 && n < 21 ? t('days.ago', { n }) : day(iso);
}
export function time(at: number): string {
  return new Intl.DateTimeFormat(habits().language, {
    hour: '2-digit',
    minute: '2-digit',
    hour12: habits().clock === '12',
  }).format(new Date(at));
}
// "2:40"
export function clock(seconds: number): string {
  const s = Math.max(0, Math.floor(seconds));
  const h = Math.floor(s / 3600);
  const m = Math.floor((s % 3600) / 60);
  const rest = String(s % 60).padStart(2, '0');
  return h ? `${h}:${String(m).padStart(2, '0')}:${rest}` : `${m}:${rest}`;
}
// The device's own day as ISO text.
export function localDay(at = new Date()): string {
  return `${at.getFullYear()}-${String(at.getMonth() + 1).padStart(2, '0')}-${String(at.getDate()).padStart(2, '0')}`;
}

// A mapping made by picking cells: what the columns of a sheet are called, where each column of the log comes from, and
// what a cell that is picked stands for. Pure; the program does the reading.
import type { CellRow, CellSheet, MappingParts } from './api/types';

// In the order a coach thinks of them. The first four a log needs.
export const fields = ['date', 'exercise', 'load', 'reps', 'sets', 'lifter', 'called_reserve', 'rest_s', 'failed', 'kind', 'side', 'note', 'session', 'place', 'body_mass', 'last_rep_speed', 'tempo', 'pain'] as const;
export type PickField = (typeof fields)[number];

const plain = (text: string) => text.trim().toLowerCase();
export const lettersOf = (column: number): string => {
  let out = '';
  for (let n = column + 1; n > 0; n = Math.floor((n - 1) / 26)) out = String.fromCharCode(65 + ((n - 1) % 26)) + out;
  return out;
};
export const columnOf = (letters: string): number => [...letters].reduce((n, c) => n * 26 + c.charCodeAt(0) - 64, 0) - 1;
export const widthOf = (sheet: CellSheet): number => Math.max(0, ...sheet.rows.flatMap((r) => r.cells.map((c) => columnOf(c.column) + 1)));
export function textAt(row: CellRow | undefined, column: number): string {
  return row?.cells.find((c) => columnOf(c.column) === column)?.text ?? '';
}

// Every name the mapping speaks of that could stand in a sheet.
function wanted(parts: MappingParts): string[] {
  return [...parts.fields.flatMap((f) => f.columns), ...(parts.sets?.columns ?? [])].filter((n) => !n.startsWith('(') && !n.startsWith('#'));
}
// "Set * kg" fits "Set 2 kg".
export function fits(pattern: string, name: string): boolean {
  const star = pattern.indexOf('*');
  if (star < 0) return plain(pattern) === plain(name) && name.trim() !== '';
  const [a, b] = [pattern.slice(0, star).toLowerCase(), pattern.slice(star + 1).toLowerCase()];
  const n = plain(name);
  return n.length >= a.length + b.length && n.startsWith(a) && n.endsWith(b) && n !== '';
}

function joined(sheet: CellSheet, first: number, height: number): string[] {
  return Array.from({ length: widthOf(sheet) }, (_, c) => {
    const texts: string[] = [];
    for (let r = first; r < first + height; r++) {
      const text = textAt(sheet.rows[r], c).trim();
      if (text && texts.at(-1) !== text) texts.push(text);
    }
    return texts.join(' ');
  });
}
export interface Names {
  first: number; // place in sheet.rows of the first row with names; -1: not known
  last: number;
  names: string[];
}
// The row on which most names of the mapping stand, or the one the mapping says.
export function namesOf(sheet: CellSheet, parts: MappingParts): Names {
  const height = parts.header_rows;
  const none = { first: -1, last: -1, names: joined(sheet, 0, 0) };
  if (parts.header_row === 0) return none;
  if (parts.header_row > 1) {
    const at = sheet.sheet === '' ? parts.header_row - 1 : sheet.rows.findIndex((r) => r.row === parts.header_row);
    if (at >= 0 && at < sheet.rows.length) return { first: at, last: at + height - 1, names: joined(sheet, at, height) };
  }
  let best = none;
  let most = 0;
  const names = wanted(parts);
  for (let r = 0; r + height <= sheet.rows.length; r++) {
    const here = joined(sheet, r, height);
    const score = names.filter((n) => here.some((h) => fits(n, h))).length;
    if (score > most) {
      most = score;
      best = { first: r, last: r + height - 1, names: here };
    }
  }
  return best;
}

// Which fields of the log a column of the sheet feeds.
export function usesOf(column: number, names: string[], parts: MappingParts): PickField[] {
  const is = (n: string) => n === `#${lettersOf(column)}` || n === `#${column + 1}` || fits(n, names[column] ?? '') || (n === '(dates)' && /\d/.test(names[column] ?? '') && !/[a-z]{4,}/i.test(names[column] ?? ''));
  return [...parts.fields.filter((f) => f.columns.some(is)).map((f) => f.field as PickField), ...(parts.sets?.columns.some(is) ? (['sets'] as const) : [])];
}

// What a picked cell is called in a mapping: the name of its column where that is one of its kind, else the column's
// letter; a cell above the names stands for itself.
export function nameOf(sheet: CellSheet, row: number, column: number, at: Names): string {
  const cell = sheet.rows[row];
  if (cell && sheet.sheet !== '' && at.first >= 0 && row < at.first) return `(${lettersOf(column)}${cell.row})`;
  const names = at.first >= 0 ? at.names : (cell?.cells.every((c) => c.kind === 'text') ? Array.from({ length: widthOf(sheet) }, (_, c) => textAt(cell, c).trim()) : []);
  const name = names[column] ?? '';
  const alone = name !== '' && !/[*]/.test(name) && !name.startsWith('(') && !name.startsWith('#') && names.filter((n) => plain(n) === plain(name)).length === 1;
  return alone ? name : sheet.sheet === '' ? `#${column + 1}` : `#${lettersOf(column)}`;
}

// The field to pick next: the first needed one that is not there yet.
export function missing(parts: MappingParts, lifter: boolean): PickField[] {
  const has = (f: string) => parts.fields.some((x) => x.field === f) || parts.constants.some((x) => x.field === f);
  const need: PickField[] = ['date', 'exercise'];
  if (!parts.sets) need.push('load', 'reps');
  if (!lifter) need.push('lifter');
  return need.filter((f) => !has(f));
}

export interface Question {
  key: string;
  required: boolean;
}
// Whether a question of the offer is settled by what the mapping says now.
export function settled(key: string, parts: MappingParts, lifter: boolean): boolean {
  const field = (name: string) => parts.fields.find((f) => f.field === name);
  const constant = (name: string) => parts.constants.some((c) => c.field === name && c.text !== '');
  if (key === 'columns.lifter') return lifter || !!field('lifter') || constant('lifter');
  if (key === 'constants.unit') return constant('unit') || !!field('unit') || !!field('load')?.unit || !!parts.sets?.unit;
  if (key === 'file.header_row') return parts.header_row !== 0 || parts.fields.some((f) => f.columns.some((c) => c.startsWith('#')));
  if (key === 'file.date_order') return parts.date_order !== '';
  if (key === 'columns.sets.effort') return !!parts.sets?.effort;
  const column = /^columns\.([a-z_]+)$/.exec(key);
  if (column) return !!field(column[1]!) || constant(column[1]!) || (column[1] === 'reps' && !!parts.sets);
  return false;
}

// Where a fault stands, as sheet, row and column letters: "Week 3!D14".
export function placeOf(place: string | undefined): { sheet: string; row: number; column: string } | undefined {
  const m = /^(.*)!([A-Z]+)(\d+)$/.exec(place ?? '');
  return m ? { sheet: m[1]!, row: Number(m[3]), column: m[2]! } : undefined;
}

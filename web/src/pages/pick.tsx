// The cells of a table as they stand, from which a mapping is picked: choose what, then the column or the cell.
import { useEffect, useRef, useState } from 'preact/hooks';
import { ask } from '../api/client';
import type { CellSheet, MappingParts } from '../api/types';
import { Check, Choice, Failure } from '../design/parts';
import { num } from '../format';
import { type PickField, fields, fits, lettersOf, missing, nameOf, namesOf, textAt, usesOf, widthOf } from '../picking';
import { t, type TextKey } from '../text';

export const fieldText = (f: PickField) => t(`field.${f}` as TextKey);
const often = new Set<PickField>(['date', 'exercise', 'load', 'reps', 'sets', 'lifter', 'called_reserve', 'rest_s']);
export interface Mapped {
  mapping: string;
  parts: MappingParts;
}
export interface Fault {
  sheet: string;
  row: number;
  column: string;
}

interface PickProps {
  sheets: CellSheet[];
  mapped: Mapped;
  set: (mapped: Mapped) => void;
  lifter: boolean;
  faults: Fault[];
}
export function Picking({ sheets, mapped, set, lifter, faults }: PickProps) {
  const { parts } = mapped;
  const [at, setAt] = useState(Math.max(0, sheets.findIndex((s) => !s.hidden && namesOf(s, parts).first >= 0)));
  const [field, setField] = useState<PickField | undefined>(missing(parts, lifter)[0]);
  const [also, setAlso] = useState(false);
  const [more, setMore] = useState(false);
  const [error, setError] = useState<unknown>();
  const sheet = sheets[Math.min(at, sheets.length - 1)]!;
  const names = namesOf(sheet, parts);
  const workbook = sheet.sheet !== '';
  const change = async (body: Omit<Parameters<typeof send>[1], 'toml'>, next?: PickField | 'stay') => {
    try {
      const now = await send(mapped.mapping, body);
      set(now);
      setError(undefined);
      setAlso(false);
      if (next !== 'stay') setField(next ?? missing(now.parts, lifter)[0]);
    } catch (e) {
      setError(e);
    }
  };
  const put = (f: PickField, columns: string[], more: { unit?: string; as?: string; order?: string } = {}, next?: PickField | 'stay') => change({ picks: [{ field: f, columns, ...more }] }, next);
  const has = (f: PickField) => (f === 'sets' ? (parts.sets?.columns ?? []) : (parts.fields.find((x) => x.field === f)?.columns ?? []));
  const cells = useRef<HTMLDivElement>(null);
  const choose = (f: PickField) => {
    setAlso(false);
    setField(field === f ? undefined : f);
    // On a phone the table lies below the list.
    if (field !== f) setTimeout(() => cells.current?.scrollIntoView({ block: 'nearest' }));
  };
  const pick = (row: number, column: number) => {
    if (!field) return;
    const name = nameOf(sheet, row, column, names);
    const columns = also ? [...has(field).filter((c) => c !== name), name] : [name];
    // A heading that is picked where no row was known to hold names says which row that is.
    const says = parts.header_row === 0 && !/^[#(]/.test(name) ? { header_row: workbook ? sheet.rows[row]!.row : row + 1 } : {};
    void change({ picks: [{ field, columns }], ...says });
  };
  const load = parts.fields.find((x) => x.field === 'load');
  const reserve = parts.fields.find((x) => x.field === 'called_reserve');
  const rest = parts.fields.find((x) => x.field === 'rest_s');
  const shown = fields.filter((f) => f !== 'reps' || !parts.sets).filter((f) => f !== 'lifter' || !lifter || has('lifter').length > 0);
  return (
    <section class="picking">
      <div class="pick-list">
        <h3>{t('pick.what')}</h3>
        <p class="small soft">{t('pick.how')}</p>
        <ul>
          {shown.filter((f) => more || often.has(f) || f === field || has(f).length > 0 || parts.constants.some((c) => c.field === f)).map((f) => {
            const columns = has(f);
            const constant = parts.constants.find((c) => c.field === f)?.text;
            const needed = missing(parts, lifter).includes(f);
            return (
              <li key={f}>
                <button type="button" class="pick-field" aria-pressed={field === f} onClick={() => choose(f)}>{fieldText(f)}</button>
                <span class="figures">
                  {columns.length ? columns.map(sourceText).join(' + ') : constant ? t('pick.always', { text: constant }) : <span class={needed ? 'wanted' : 'soft'}>{needed ? t('pick.needed') : '–'}</span>}
                </span>
                {(columns.length > 0 || constant) && (
                  <button type="button" class="plain" onClick={() => void put(f, [], {}, 'stay')}>{t('pick.clear')}<span class="unseen"> {fieldText(f)}</span></button>
                )}
              </li>
            );
          })}
        </ul>
        <p><button type="button" class="plain" aria-expanded={more} onClick={() => setMore(!more)}>{t(more ? 'pick.fewer' : 'pick.others')}</button></p>
        <div class="fields">
          {(load || parts.sets) && (
            <Choice label={t('pick.unit')} value={load ? load.unit : (parts.sets?.unit ?? '')} set={(v) => void (load ? put('load', load.columns, { unit: v }, 'stay') : put('sets', parts.sets!.columns, { unit: v }, 'stay'))}
              options={[['', t('pick.unit.none')], ['kg', 'kg'], ['lb', 'lb'], ['mark', t('unit.mark')], ...(load ? [['cell', t('pick.unit.cell')] as [string, string]] : [])]} />
          )}
          {parts.sets && (
            <>
              <Choice label={t('pick.order')} value={parts.sets.order} set={(v) => void put('sets', parts.sets!.columns, { order: v }, 'stay')}
                options={[['load x reps', t('pick.order.lr')], ['reps x load', t('pick.order.rl')], ['sets x reps', t('pick.order.sr')], ['sets x reps x load', t('pick.order.srl')]]} />
              <Choice label={t('pick.effort')} value={parts.sets.effort} set={(v) => void put('sets', parts.sets!.columns, { as: v }, 'stay')} options={[['', t('pick.effort.none')], ['reserve', t('pick.reserve')], ['rpe', 'RPE']]} />
            </>
          )}
          {reserve && <Choice label={t('pick.called')} value={reserve.as} set={(v) => void put('called_reserve', reserve.columns, { as: v }, 'stay')} options={[['', t('pick.reserve')], ['rpe', 'RPE']]} />}
          {rest && <Choice label={t('pick.rest')} value={rest.as} set={(v) => void put('rest_s', rest.columns, { as: v }, 'stay')} options={[['', t('pick.seconds')], ['minutes', t('pick.minutes')], ['clock', '2:30']]} />}
          <Choice label={t('pick.dates')} value={parts.date_order} set={(v) => void change({ date_order: v as '' }, 'stay')}
            options={[['', t('pick.dates.file')], ['dmy', t('pick.dmy')], ['mdy', t('pick.mdy')], ['ymd', t('pick.ymd')]]} />
          <Check label={t('pick.comma')} checked={parts.decimal_comma} set={(on) => void change({ decimal_comma: on }, 'stay')} />
          {sheets.some((s) => s.rows.some((r) => r.hidden)) && <Check label={t('pick.hidden')} checked={parts.skip_hidden_rows} set={(on) => void change({ skip_hidden_rows: on }, 'stay')} />}
        </div>
        {error !== undefined && <Failure error={error} />}
      </div>
      <div class="pick-cells" ref={cells}>
        <div class="line end">
          {sheets.length > 1 && (
            <Choice label={t('pick.sheet')} value={String(at)} set={(v) => setAt(Number(v))} options={sheets.map((s, i) => [String(i), s.hidden ? t('pick.sheet.hidden', { name: s.sheet }) : s.sheet])} />
          )}
          {workbook && sheets.length > 1 && (
            <Choice label={t('pick.sheets')} value={parts.sheets.length ? parts.sheets.join(' + ') : ''} set={(v) => void change({ sheets: v ? [v] : [] }, 'stay')}
              options={[['', t('pick.sheets.all')], ...(parts.sheets.length > 1 ? [[parts.sheets.join(' + '), parts.sheets.join(' + ')] as [string, string]] : []), ...sheets.map((s) => [s.sheet, t('pick.sheets.only', { name: s.sheet })] as [string, string])]} />
          )}
          <Choice label={t('pick.names')} value={parts.header_row > 1 || parts.header_row === 0 ? String(parts.header_row) : ''} set={(v) => void change({ header_row: v === '' ? 1 : Number(v) }, 'stay')}
            options={[['', names.first >= 0 ? t('pick.names.found', { row: num(sheet.rows[names.first]!.row) }) : t('pick.names.look')], ['0', t('pick.names.none')],
              ...sheet.rows.slice(0, 20).map((r, i) => [String(workbook ? r.row : i + 1), t('pick.names.row', { row: num(r.row) })] as [string, string]).filter(([v]) => v !== '1')]} />
        </div>
        <p class="pick-now" role="status">
          {field ? t('pick.now', { field: fieldText(field) }) : t('pick.not.now')}
        </p>
        {field && (
          <div class="line pick-other">
            {has(field).length > 0 && <Check label={t('pick.also')} checked={also} set={setAlso} />}
            {workbook && ['lifter', 'date', 'session', 'place', 'exercise', 'note'].includes(field) && (
              <>
                <button type="button" onClick={() => void put(field, ['(sheet)'])}>{t('pick.from.sheet')}</button>
                <button type="button" onClick={() => void put(field, ['(section)'])}>{t('pick.from.section')}</button>
              </>
            )}
            {field === 'date' && parts.sets && <button type="button" onClick={() => void put('date', ['(heading)'])}>{t('pick.from.heading')}</button>}
            {field === 'note' && workbook && <button type="button" onClick={() => void put('note', ['(comments)'])}>{t('pick.from.comments')}</button>}
          </div>
        )}
        <Grid key={sheet.sheet} sheet={sheet} parts={parts} field={field} pick={pick} faults={faults.filter((f) => f.sheet === sheet.sheet)} />
        {sheet.more && <p class="small soft">{t('pick.more', { n: sheet.rows.length })}</p>}
      </div>
    </section>
  );
}

function send(toml: string, body: { picks?: { field: string; columns?: string[]; unit?: string; as?: string; order?: string }[]; header_row?: number; sheets?: string[]; date_order?: '' | 'ymd' | 'dmy' | 'mdy'; decimal_comma?: boolean; skip_hidden_rows?: boolean }): Promise<Mapped> {
  return ask('POST /api/mappings/pick', { body: { toml, ...body } });
}
export const readParts = (toml: string) => send(toml, {});

export function sourceText(name: string): string {
  if (name === '(sheet)') return t('pick.from.sheet');
  if (name === '(section)') return t('pick.from.section');
  if (name === '(heading)') return t('pick.from.heading');
  if (name === '(comments)') return t('pick.from.comments');
  if (name === '(dates)') return t('pick.from.dates');
  if (/^\([A-Z]+\d+\)$/.test(name)) return t('pick.from.cell', { cell: name.slice(1, -1) });
  return name.startsWith('#') ? t('pick.from.column', { column: name.slice(1) }) : `“${name}”`;
}

// One stop of the tab key; arrows go from cell to cell, Enter or a blank picks.
function Grid({ sheet, parts, field, pick, faults }: { sheet: CellSheet; parts: MappingParts; field?: PickField; pick: (row: number, column: number) => void; faults: Fault[] }) {
  const names = namesOf(sheet, parts);
  const width = Math.min(60, widthOf(sheet));
  const [spot, setSpot] = useState<[number, number]>([Math.max(0, names.first), 0]);
  const table = useRef<HTMLTableElement>(null);
  const moved = useRef(false);
  useEffect(() => {
    if (moved.current) table.current?.querySelector<HTMLElement>('[tabindex="0"]')?.focus();
    moved.current = false;
  }, [spot]);
  if (!sheet.rows.length || !width) return <p class="soft">{t('pick.empty')}</p>;
  const key = (e: KeyboardEvent) => {
    const [r, c] = spot;
    const to: Record<string, [number, number]> = {
      ArrowUp: [r - 1, c], ArrowDown: [r + 1, c], ArrowLeft: [r, c - 1], ArrowRight: [r, c + 1], Home: [r, 0], End: [r, width - 1], PageUp: [0, c], PageDown: [sheet.rows.length - 1, c],
    };
    if (e.key === 'Enter' || e.key === ' ') {
      e.preventDefault();
      pick(r, c);
    } else if (to[e.key]) {
      e.preventDefault();
      moved.current = true;
      const [nr, nc] = to[e.key]!;
      setSpot([Math.max(0, Math.min(sheet.rows.length - 1, nr)), Math.max(0, Math.min(width - 1, nc))]);
    }
  };
  const uses = Array.from({ length: width }, (_, c) => usesOf(c, names.names, parts));
  return (
    <div class="table-scroll cells-box">
      <table class={field ? 'cells picks' : 'cells'} ref={table} role="grid" aria-label={sheet.sheet || t('import.first.rows')} aria-readonly onKeyDown={key}>
        <thead>
          <tr role="row">
            <th scope="col"><span class="unseen">{t('pick.row')}</span></th>
            {uses.map((u, c) => (
              <th key={c} scope="col" class={u.length ? 'used' : ''}>
                {lettersOf(c)}
                {u.map((f) => <span key={f} class="use">{fieldText(f)}</span>)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {sheet.rows.map((r, i) => (
            <tr key={r.row} role="row" class={`${i >= names.first && i <= names.last ? 'names' : ''}${r.hidden ? ' hidden-row' : ''}`}>
              <th scope="row">{num(r.row)}</th>
              {uses.map((u, c) => {
                const text = textAt(r, c);
                const own = parts.fields.filter((f) => f.columns.includes(`(${lettersOf(c)}${r.row})`));
                const bad = faults.some((f) => f.row === r.row && (f.column === lettersOf(c) || fits(f.column, names.names[c] ?? '')));
                return (
                  <td key={c} role="gridcell" tabIndex={spot[0] === i && spot[1] === c ? 0 : -1} class={`${u.length && i > names.last ? 'used' : ''}${own.length ? ' own' : ''}${bad ? ' bad' : ''}`}
                    onClick={() => (setSpot([i, c]), pick(i, c))}>
                    {text.length > 40 ? `${text.slice(0, 39)}…` : text}
                    {own.map((f) => <span key={f.field} class="use">{fieldText(f.field as PickField)}</span>)}
                    {bad && <span class="use harm">{t('pick.fault')}</span>}
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

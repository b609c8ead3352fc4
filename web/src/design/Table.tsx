// A ruled table: the first column heads its row.
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { t } from '../text';

interface TableProps {
  caption?: string;
  columns: ComponentChildren[];
  rows: ComponentChildren[][];
  numeric?: boolean;
}
export function Table({ caption, columns, rows, numeric = true }: TableProps) {
  return (
    <div class="table-scroll" tabIndex={0} role="region" aria-label={caption}>
      <table class={numeric ? 'ruled numeric' : 'ruled'}>
        {caption && <caption class="unseen">{caption}</caption>}
        <thead>
          <tr>{columns.map((c, i) => <th key={i} scope="col">{c}</th>)}</tr>
        </thead>
        <tbody>
          {rows.map((row, i) => (
            <tr key={i}>
              {row.map((cell, j) => (j === 0 ? <th key={j} scope="row">{cell}</th> : <td key={j}>{cell}</td>))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

// A picture's figures as a table: written when it is opened, since few are and some have hundreds of rows.
export function AsTable({ of }: { of: () => ComponentChildren }) {
  const [open, setOpen] = useState(false);
  return (
    <details class="as-table" onToggle={(e) => setOpen(e.currentTarget.open)}>
      <summary>{t('as.table')}</summary>
      {open && of()}
    </details>
  );
}

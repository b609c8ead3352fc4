// A ruled table: the first column heads its row.
import type { ComponentChildren } from 'preact';

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

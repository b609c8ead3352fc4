// The parts every page is set from. The page "How this page is drawn" (#/drawn) shows each of them.
import type { ComponentChildren } from 'preact';
import { useEffect, useId, useRef, useState } from 'preact/hooks';
import { Away, Refusal, ask } from '../api/client';
import type { Held, Load } from '../api/types';
import { load, num, plates as platesText } from '../format';
import { t } from '../text';
import { onSayer, said } from '../text/said';

// A number with what it rests on, opened on demand.
export function Why({ children, of }: { children: ComponentChildren; of: string }) {
  return (
    <details class="why">
      <summary>
        {t('why')}<span class="unseen"> {of}</span>
      </summary>
      <div class="serif">{children}</div>
    </details>
  );
}

interface NoticeProps {
  title?: ComponentChildren;
  harm?: boolean;
  live?: boolean;
  class?: string;
  children?: ComponentChildren;
}
export function Notice({ title, harm, live, children, ...rest }: NoticeProps) {
  return (
    <div class={`notice${harm ? ' of-harm' : ''}${rest.class ? ` ${rest.class}` : ''}`} role={live ? 'status' : undefined}>
      {title && <p class="sentence">{title}</p>}
      {children}
    </div>
  );
}

// What the program said, in the page's language where it can be, else marked as the English it is.
export function useSaid(): typeof said {
  const [, draw] = useState(0);
  useEffect(() => {
    draw((n) => n + 1); // it may have come meanwhile
    return onSayer(() => draw((n) => n + 1));
  }, []);
  return said;
}
// `own`: it may be what people wrote, in whatever language they speak.
export function Said({ of, as: Tag = 'span', own, ...rest }: { of: string; as?: 'span' | 'p' | 'li' | 'h2' | 'legend'; own?: boolean; class?: string }) {
  const { text, lang } = useSaid()(of);
  return <Tag {...rest} lang={own ? undefined : lang}>{text}</Tag>;
}
export function SaidList({ list, ...rest }: { list: string[]; class?: string }) {
  return <ul {...rest}>{list.map((x, i) => <Said key={i} as="li" of={x} />)}</ul>;
}

// Nothing is prescribed, and what would change that.
export function Holds({ holds, name }: { holds: Held[]; name: string }) {
  return (
    <Notice harm title={t('hold.title', { name })}>
      {holds.map((h) => (
        <div key={h.id}>
          <Said as="p" own of={h.reason} />
          <p>
            <span class="soft">{t('hold.lifts')}</span> <Said of={h.lifts} />
          </p>
        </div>
      ))}
      <p class="soft small">{t('hold.still')}</p>
    </Notice>
  );
}

export function Loading({ what }: { what?: string }) {
  const [slow, setSlow] = useState(false);
  useEffect(() => {
    const timer = setTimeout(() => setSlow(true), 250);
    return () => clearTimeout(timer);
  }, []);
  return (
    <p class="soft serif empty" role="status">
      {slow ? (what ?? t('loading')) : ''}
    </p>
  );
}
export function Failure({ error, again }: { error: unknown; again?: () => void }) {
  const gone = error instanceof Away;
  const faults = error instanceof Refusal ? (error.detail.faults ?? []) : [];
  return (
    <Notice harm={!gone} live title={gone ? t('away.title') : t('error.title')}>
      {gone ? <p>{t('away.text')}</p> : <Said as="p" own={!(error instanceof Refusal)} of={error instanceof Error ? error.message : String(error)} />}
      {faults.length > 0 && <SaidList list={faults.map((f) => f.message)} />}
      {again && (
        <p>
          <button type="button" onClick={again}>{t('try.again')}</button>
        </p>
      )}
    </Notice>
  );
}
// A page that has nothing to show yet, or cannot.
export function Blank({ error, again, what }: { error?: unknown; again?: () => void; what?: string }) {
  return (
    <main class="sheet" id="main" tabIndex={-1}>
      <h1 class="unseen">{error ? t(error instanceof Away ? 'away.title' : 'error.title') : t('loading')}</h1>
      {error ? <Failure error={error} again={again} /> : <Loading what={what} />}
    </main>
  );
}
export function Empty({ title, children }: { title: ComponentChildren; children?: ComponentChildren }) {
  return (
    <div class="empty">
      <p class="lead">{title}</p>
      {children}
    </div>
  );
}

interface FieldProps {
  label: string;
  hint?: string;
  fault?: string;
  children: (attributes: { id: string; 'aria-describedby'?: string; 'aria-invalid'?: boolean }) => ComponentChildren;
}
export function Field({ label, hint, fault, children }: FieldProps) {
  const id = useId();
  return (
    <div class="field">
      <label class="label" for={id}>{label}</label>
      {children({ id, 'aria-describedby': hint || fault ? `${id}h` : undefined, 'aria-invalid': fault ? true : undefined })}
      {(fault || hint) && (
        <div id={`${id}h`} class={fault ? 'fault' : 'small soft'}>{fault ?? hint}</div>
      )}
    </div>
  );
}
interface InputProps {
  type?: 'text' | 'date' | 'search';
  inputMode?: 'decimal' | 'numeric';
  required?: boolean;
  autoComplete?: string;
  label: string;
  hint?: string;
  fault?: string;
  value: string;
  set: (value: string) => void;
}
export function TextField({ label, hint, fault, value, set, ...rest }: InputProps) {
  return (
    <Field label={label} hint={hint} fault={fault}>
      {(a) => <input {...(rest as { type?: 'text' })} {...a} value={value} onInput={(e) => set(e.currentTarget.value)} />}
    </Field>
  );
}
export function Choice({ label, value, set, options, hint }: {
  label: string;
  value: string;
  set: (value: string) => void;
  options: [string, string][];
  hint?: string;
}) {
  return (
    <Field label={label} hint={hint}>
      {(a) => (
        <select {...a} value={value} onChange={(e) => set(e.currentTarget.value)}>
          {options.map(([v, text]) => (
            <option key={v} value={v}>{text}</option>
          ))}
        </select>
      )}
    </Field>
  );
}
export function Check({ label, checked, set }: { label: string; checked: boolean; set: (on: boolean) => void }) {
  return (
    <label class="choice">
      <input type="checkbox" checked={checked} onChange={(e) => set(e.currentTarget.checked)} />
      <span>{label}</span>
    </label>
  );
}

export function Dialog({ title, close, children }: { title: string; close: () => void; children: ComponentChildren }) {
  const ref = useRef<HTMLDialogElement>(null);
  const id = useId();
  useEffect(() => {
    const dialog = ref.current;
    if (dialog && !dialog.open) dialog.showModal();
    return () => dialog?.close();
  }, []);
  return (
    <dialog ref={ref} aria-labelledby={id} onClose={close}
      onClick={(e) => e.target === e.currentTarget && close()}>
      <h2 id={id} tabIndex={-1}>{title}</h2>
      {children}
    </dialog>
  );
}

// Discs of one side, in one ink, to scale, the number written on.
export function Plates({ list, bar = true }: { list: Load[]; bar?: boolean }) {
  const title = platesText(list);
  const id = useId();
  if (!list.length) return null;
  const size = (l: Load) => {
    const kg = l.unit === 'lb' ? l.amount * 0.45359237 : l.amount;
    return kg >= 20 ? 60 : 22 + 38 * Math.sqrt(Math.max(0, kg) / 20);
  };
  let x = bar ? 16 : 2;
  return (
    <svg class="plates" viewBox={`0 0 ${x + list.length * 32 + 8} 64`} width={x + list.length * 32 + 8} height="64" role="img"
      aria-labelledby={id}>
      <title id={id}>{t('plates.side', { plates: title })}</title>
      {bar && <path class="bar" d={`M0 32 H${x + list.length * 32 + 8}`} />}
      {list.map((l, i) => {
        const h = size(l);
        const at = x;
        x += 32;
        return (
          <g key={i}>
            <rect class="disc" x={at} y={32 - h / 2} width="28" height={h} rx="3" />
            <text x={at + 14} y="37">{num(l.amount, 2)}</text>
          </g>
        );
      })}
    </svg>
  );
}
export { load };

// ---- What was just changed, and the way back.
interface Told {
  text: string;
  said?: boolean; // by the program
  change?: number;
  undo?: () => void | Promise<unknown>;
}
let told: Told | undefined;
const listeners = new Set<() => void>();
let timer: ReturnType<typeof setTimeout> | undefined;
export function tell(text: string, change?: number, undo?: Told['undo']): void {
  show({ text, change, undo });
}
export function tellFailure(e: unknown): void {
  show({ text: e instanceof Error ? e.message : String(e), said: true });
}
function show(now: Told) {
  told = now;
  clearTimeout(timer);
  timer = setTimeout(() => clear(), 12000);
  for (const l of listeners) l();
}
function clear() {
  told = undefined;
  for (const l of listeners) l();
}
export function ToldBar({ changed }: { changed: () => void }) {
  const [, draw] = useState(0);
  useEffect(() => {
    const l = () => draw((n) => n + 1);
    listeners.add(l);
    return () => void listeners.delete(l);
  }, []);
  const back = async () => {
    const it = told!;
    clear();
    try {
      if (it.undo) await it.undo();
      else await ask('POST /api/undo', { body: { change: it.change } });
      tell(t('undone'));
      changed();
    } catch (e) {
      tellFailure(e);
    }
  };
  return (
    <div role="status" aria-live="polite">
      {told && (
        <div class="told">
          {told.said ? <Said of={told.text} /> : <span>{told.text}</span>}
          {(told.change || told.undo) && <button type="button" onClick={() => void back()}>{t('undo')}</button>}
        </div>
      )}
    </div>
  );
}

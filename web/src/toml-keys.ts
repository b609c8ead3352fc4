// Puts single answers into the text of a mapping, leaving the rest of the text as it is.
const quoted = (v: string) => `"${v.replace(/\\/g, '\\\\').replace(/"/g, '\\"')}"`;
const bare = (k: string) => (/^[A-Za-z0-9_-]+$/.test(k) ? k : quoted(k));

function splitKey(key: string): { table: string; name: string; inner?: string } {
  const parts = key.split('.');
  // columns.load.unit: a key inside what column load is read from
  if (parts[0] === 'columns' && parts.length === 3) return { table: 'columns', name: parts[1]!, inner: parts[2]! };
  return { table: parts.slice(0, -1).join('.'), name: parts.at(-1)! };
}

// value: text, quoted here; true, false and numbers stand bare in [file].
export function putKey(toml: string, key: string, value: string): string {
  const { table, name, inner } = splitKey(key);
  const written = table === 'file' && /^(true|false|\d+)$/.test(value) ? value : quoted(value);
  return putLine(toml, table, bare(name), (old) => {
    if (!inner) return written;
    const was = (old ?? '').trim();
    if (was.startsWith('{')) {
      const without = was.slice(1, -1).split(/,(?=(?:[^"']|"[^"]*"|'[^']*')*$)/).map((x) => x.trim()).filter((x) => x && !x.startsWith(`${inner} `) && !x.startsWith(`${inner}=`));
      return `{ ${[...without, `${inner} = ${written}`].join(', ')} }`;
    }
    return `{ ${was.startsWith('[') ? 'columns' : 'column'} = ${was || quoted(name)}, ${inner} = ${written} }`;
  });
}
export function putExercise(toml: string, text: string, exercise: string): string {
  return putLine(toml, 'values.exercise', quoted(text), () => quoted(exercise));
}

function putLine(toml: string, table: string, key: string, value: (old?: string) => string): string {
  const lines = toml.replace(/\s*$/, '').split('\n');
  const head = `[${table}]`;
  let at = table === '' ? -1 : lines.findIndex((l) => l.trim() === head);
  if (table !== '' && at < 0) {
    lines.push(...(lines.length && lines.at(-1) !== '' ? [''] : []), head);
    at = lines.length - 1;
  }
  let end = at + 1;
  while (end < lines.length && !/^\s*\[/.test(lines[end]!)) end++;
  for (let i = at + 1; i < end; i++) {
    const eq = lines[i]!.indexOf('=');
    const own = lines[i]!.trimStart().startsWith(key) && lines[i]!.trimStart().slice(key.length).trimStart().startsWith('=');
    if (own) {
      const from = key.startsWith('"') ? lines[i]!.indexOf('=', lines[i]!.indexOf(key) + key.length) : eq;
      lines[i] = `${key} = ${value(lines[i]!.slice(from + 1))}`;
      return `${lines.join('\n')}\n`;
    }
  }
  let last = end;
  while (last > at + 1 && lines[last - 1]!.trim() === '') last--;
  lines.splice(last, 0, `${key} = ${value()}`);
  return `${lines.join('\n')}\n`;
}

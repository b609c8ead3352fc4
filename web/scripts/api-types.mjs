// Writes src/api/types.ts from docs/api/openapi.json; with --check only says whether they agree.
import { readFileSync, writeFileSync } from 'node:fs';

const here = new URL('.', import.meta.url);
const target = new URL('../src/api/types.ts', here);
const api = JSON.parse(readFileSync(new URL('../../docs/api/openapi.json', here), 'utf8'));

const name = (ref) => ref.split('/').at(-1);
const resolve = (x) => (x.$ref ? x.$ref.split('/').slice(1).reduce((at, key) => at[key], api) : x);
const key = (k) => (/^[A-Za-z_]\w*$/.test(k) ? k : JSON.stringify(k));
const join = (types, by) => [...new Set(types)].map((x) => (by === ' & ' && x.includes(' | ') ? `(${x})` : x)).join(by);

function type(x) {
  if (!x || Object.keys(x).length === 0) return 'unknown';
  if (x.$ref) return name(x.$ref);
  if ('const' in x) return JSON.stringify(x.const);
  if (x.enum) return join(x.enum.map((e) => JSON.stringify(e)), ' | ');
  const union = x.oneOf ?? x.anyOf;
  if (union) return join(union.map(type), ' | ');
  if (x.allOf) return join(x.allOf.map(type), ' & ');
  if (Array.isArray(x.type)) return join(x.type.map((one) => type({ ...x, type: one })), ' | ');
  switch (x.type) {
    case 'array': {
      const items = type(x.items);
      return /[ |&]/.test(items) && !items.startsWith('{') ? `(${items})[]` : `${items}[]`;
    }
    case 'object': {
      if (!x.properties) {
        const more = x.additionalProperties;
        return `Record<string, ${more && typeof more === 'object' ? type(more) : 'unknown'}>`;
      }
      const required = new Set(x.required ?? []);
      return `{ ${Object.entries(x.properties).map(([k, v]) => `${key(k)}${required.has(k) ? '' : '?'}: ${type(v)}`).join('; ')} }`;
    }
    case 'integer':
    case 'number':
      return 'number';
    case 'boolean':
      return 'boolean';
    case 'null':
      return 'null';
    case 'string':
      return x.format === 'binary' ? 'Blob' : 'string';
    default:
      throw new Error(`no type for ${JSON.stringify(x)}`);
  }
}

const lines = ['// Made from docs/api/openapi.json by scripts/api-types.mjs. Do not edit.', ''];
for (const [n, x] of Object.entries(api.components.schemas)) {
  if (x.description) lines.push(`/** ${x.description.replace(/\*\//g, '* /')} */`);
  lines.push(`export type ${n} = ${type(x)};`);
}
lines.push('', '// What each operation takes and answers.', 'export interface Operations {');
for (const [path, item] of Object.entries(api.paths)) {
  for (const method of ['get', 'post', 'put', 'patch', 'delete']) {
    const op = item[method];
    if (!op) continue;
    const parameters = [...(item.parameters ?? []), ...(op.parameters ?? [])].map(resolve);
    const of = (where) => {
      const list = parameters.filter((p) => p.in === where);
      return list.length
        ? `{ ${list.map((p) => `${key(p.name)}${p.required ? '' : '?'}: ${type(p.schema)}`).join('; ')} }`
        : 'Record<never, never>';
    };
    const content = op.requestBody && resolve(op.requestBody).content;
    const media = content && Object.keys(content)[0];
    const body = !media ? 'undefined' : media === 'application/json' ? type(content[media].schema) : 'Blob | string';
    const good = Object.entries(op.responses).find(([code]) => code.startsWith('2'));
    const answer = good && resolve(good[1]).content;
    const kind = answer && Object.keys(answer)[0];
    lines.push(`  ${JSON.stringify(`${method.toUpperCase()} ${path}`)}: {`);
    lines.push(`    path: ${of('path')};`, `    query: ${of('query')};`, `    body: ${body};`);
    lines.push(`    answer: ${!kind ? 'undefined' : kind === 'application/json' ? type(answer[kind].schema) : 'Blob'};`, '  };');
  }
}
lines.push('}', '');
const text = lines.join('\n');

if (process.argv.includes('--check')) {
  if (readFileSync(target, 'utf8') !== text) {
    console.error('src/api/types.ts does not follow docs/api/openapi.json: run npm run types');
    process.exit(1);
  }
} else {
  writeFileSync(target, text);
}

// Says where an answer is not what docs/api/openapi.json promises. The parts of JSON Schema that file uses.
import { readFileSync } from 'node:fs';

const api = JSON.parse(readFileSync(new URL('../../../docs/api/openapi.json', import.meta.url), 'utf8'));
const at = (ref) => ref.split('/').slice(1).reduce((x, k) => x[k], api);

export function faults(value, schema, where = '') {
  if (schema.$ref) return faults(value, at(schema.$ref), where);
  const union = schema.oneOf ?? schema.anyOf;
  if (union) {
    const each = union.map((s) => faults(value, s, where));
    return each.some((f) => f.length === 0) ? [] : each[0];
  }
  if (schema.allOf) return schema.allOf.flatMap((s) => faults(value, s, where));
  if ('const' in schema) return value === schema.const ? [] : [`${where}: not ${schema.const}`];
  if (schema.enum) return schema.enum.includes(value) ? [] : [`${where}: ${JSON.stringify(value)} is none of ${schema.enum.join(', ')}`];
  const types = [].concat(schema.type ?? []);
  if (types.length) {
    const is = { null: value === null, array: Array.isArray(value), object: typeof value === 'object' && value !== null && !Array.isArray(value), string: typeof value === 'string', boolean: typeof value === 'boolean', number: typeof value === 'number', integer: Number.isInteger(value) };
    if (!types.some((t) => is[t])) return [`${where}: ${JSON.stringify(value)?.slice(0, 60)} is no ${types.join(' or ')}`];
  }
  if (Array.isArray(value) && schema.items) return value.slice(0, 50).flatMap((v, i) => faults(v, schema.items, `${where}/${i}`));
  if (value && typeof value === 'object' && schema.properties) {
    const missing = (schema.required ?? []).filter((k) => !(k in value)).map((k) => `${where}/${k}: missing`);
    return [...missing, ...Object.entries(schema.properties).filter(([k]) => k in value).flatMap(([k, s]) => faults(value[k], s, `${where}/${k}`))];
  }
  return [];
}

const paths = Object.entries(api.paths).map(([path, item]) => [new RegExp(`^${path.replace(/\{\w+\}/g, '[^/]+')}$`), item, path]);
export function answerFaults(method, path, status, json) {
  const found = paths.filter(([re]) => re.test(path)).sort((a, b) => (a[2].match(/\{/g)?.length ?? 0) - (b[2].match(/\{/g)?.length ?? 0))[0];
  const op = found?.[1][method.toLowerCase()];
  if (!op) return [`${method} ${path}: not in the description`];
  const response = op.responses[String(status)] ?? op.responses.default ?? (status >= 400 ? { content: { 'application/json': { schema: { $ref: '#/components/schemas/Error' } } } } : undefined);
  if (!response) return [`${method} ${path}: status ${status} is not described`];
  const content = (response.$ref ? at(response.$ref) : response).content?.['application/json'];
  return content ? faults(json, content.schema).map((f) => `${method} ${path} ${status} ${f}`) : [];
}

// Contrast of every pair of colours that meets on the page, in both schemes (WCAG 2.1, success criteria 1.4.3 and 1.4.11:
// 4.5:1 for text, 3:1 for what carries meaning), also as seen with the three common colour-vision deficiencies
// (matrices from memory: Machado, Oliveira and Fernandes 2009, severity 1).
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';

const css = readFileSync(new URL('../../src/design/tokens.css', import.meta.url), 'utf8');
function tokens(selector: string): Record<string, string> {
  const at = css.indexOf(selector);
  expect(at, selector).toBeGreaterThanOrEqual(0);
  const block = css.slice(css.indexOf('{', at), css.indexOf('}', at));
  return Object.fromEntries([...block.matchAll(/--([a-z-]+): (#[0-9a-f]{6})/g)].map((m) => [m[1]!, m[2]!]));
}
type Rgb = [number, number, number];
const linear = (c: number) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
const rgb = (hex: string) => [1, 3, 5].map((i) => linear(Number.parseInt(hex.slice(i, i + 2), 16) / 255)) as Rgb;
const luminance = ([r, g, b]: Rgb) => 0.2126 * r + 0.7152 * g + 0.0722 * b;
const contrast = (a: Rgb, b: Rgb) => {
  const [hi, lo] = [luminance(a), luminance(b)].sort((x, y) => y - x) as [number, number];
  return (hi + 0.05) / (lo + 0.05);
};
const matrices: Record<string, number[][]> = {
  protan: [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
  deutan: [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.01182, 0.04294, 0.968881]],
  tritan: [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.3039]],
};
const seen = (c: Rgb, m: number[][]) => m.map((row) => Math.min(1, Math.max(0, row[0]! * c[0] + row[1]! * c[1] + row[2]! * c[2]))) as Rgb;
const over = (top: Rgb, share: number, ground: Rgb) => top.map((c, i) => c * share + ground[i]! * (1 - share)) as Rgb;

test('the formula gives the standard’s own end points', () => {
  expect(contrast(rgb('#000000'), rgb('#ffffff'))).toBeCloseTo(21, 5);
  expect(contrast(rgb('#808080'), rgb('#808080'))).toBe(1);
});

const text: [string, string][] = [
  ['ink', 'paper'], ['soft', 'paper'], ['ink', 'leaf'], ['soft', 'leaf'], ['harm', 'paper'], ['harm', 'leaf'], ['done', 'paper'],
  ['on-done', 'done'], ['on-planned', 'planned'], ['paper', 'ink'],
];
const shapes: [string, string][] = [
  ['edge', 'paper'], ['edge', 'leaf'], ['done', 'paper'], ['median', 'paper'], ['harm', 'paper'], ['focus', 'paper'], ['ink', 'planned'],
];
describe.each([['light', ':root {'], ['dark', ":root[data-scheme='dark'] {"]])('%s', (_, selector) => {
  const t = tokens(selector);
  test.each(text)('text: %s on %s', (a, b) => {
    expect(contrast(rgb(t[a]!), rgb(t[b]!))).toBeGreaterThanOrEqual(4.5);
  });
  test.each(shapes)('shapes: %s on %s', (a, b) => {
    expect(contrast(rgb(t[a]!), rgb(t[b]!))).toBeGreaterThanOrEqual(3);
  });
  // Done and planned stand side by side in one row, the median in its haze: told apart by lightness, not by hue.
  test.each(Object.entries(matrices))('%s: done and planned, and the median in its haze, stay apart', (__, m) => {
    const see = (name: string) => seen(rgb(t[name]!), m);
    expect(contrast(see('done'), see('planned'))).toBeGreaterThanOrEqual(2.2);
    expect(contrast(see('median'), seen(over(rgb(t.doubt!), 0.4, rgb(t.paper!)), m))).toBeGreaterThanOrEqual(2.2);
    for (const [a, b] of text) expect(contrast(see(a), see(b)), `${a} on ${b}`).toBeGreaterThanOrEqual(4.4);
  });
});
test('the scheme chosen by the device is the same as the one chosen by hand', () => {
  expect(tokens(":root:not([data-scheme='light']) {")).toEqual(tokens(":root[data-scheme='dark'] {"));
});

// A small runner for tests in a real browser: Debian's Chromium, driven by playwright-core.
import { mkdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { chromium } from 'playwright-core';

const require = createRequire(import.meta.url);
const axeSource = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
export const shots = new URL('../../../build/web/', import.meta.url).pathname;
mkdirSync(shots, { recursive: true });

export const check = (ok, message) => {
  if (!ok) throw new Error(message);
};
export const equal = (a, b, message = '') => check(JSON.stringify(a) === JSON.stringify(b), `${message}: ${JSON.stringify(a)} is not ${JSON.stringify(b)}`);
// Patience costs nothing where what is waited for comes: a busy machine only makes it come later. ULLAGE_PATIENCE: how many
// times as long as usual.
const patience = Number(process.env.ULLAGE_PATIENCE ?? 1);
export async function until(what, message, ms = 30000) {
  const end = Date.now() + ms * patience;
  for (;;) {
    const got = await what();
    if (got) return got;
    if (Date.now() > end) throw new Error(`waited ${ms * patience} ms: ${message}`);
    await new Promise((r) => setTimeout(r, 25));
  }
}

export async function launch() {
  return chromium.launch({
    executablePath: process.env.ULLAGE_CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-dev-shm-usage', '--disable-background-networking', '--disable-component-update', '--no-first-run', '--font-render-hinting=none'],
  });
}

// A window whose every console error, page error, refused policy or request to elsewhere is a fault of the test.
export async function open(browser, url, { width = 1280, height = 900, scheme = 'light', worker = false, reduced = false, locale = 'en-GB', quiet = [], touch = false } = {}) {
  const context = await browser.newContext({
    viewport: { width, height }, colorScheme: scheme, locale, deviceScaleFactor: width < 500 ? 2 : 1, hasTouch: touch, reducedMotion: reduced ? 'reduce' : 'no-preference',
    serviceWorkers: worker ? 'allow' : 'block', acceptDownloads: true,
  });
  const page = await context.newPage();
  const faults = [];
  const allowed = (text) => quiet.some((q) => text.includes(q));
  page.on('console', (m) => m.type() === 'error' && !allowed(m.text()) && faults.push(`console: ${m.text()}`));
  page.on('pageerror', (e) => faults.push(`page: ${e.stack ?? e}`));
  page.on('request', (r) => {
    const to = new URL(r.url());
    if (/^https?:$/.test(to.protocol) && to.origin !== new URL(url).origin) faults.push(`request to ${r.url()}`);
  });
  page.setDefaultTimeout(30000 * patience);
  page.faults = faults;
  page.close_ = () => context.close();
  return page;
}

// axe finds nothing, in light and dark; nothing is wider than the window.
export async function clean(page, name) {
  await page.waitForTimeout(60);
  for (const scheme of ['light', 'dark']) {
    await page.emulateMedia({ colorScheme: scheme });
    // Of all the rules only contrast depends on the scheme.
    const found = await page.evaluate(async ([source, dark]) => {
      if (!window.axe) (0, eval)(source);
      const r = await window.axe.run(document, dark ? { resultTypes: ['violations'], runOnly: ['color-contrast'] } : { resultTypes: ['violations'] });
      return r.violations.map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((n) => `${n.target.join(' ')} ${n.failureSummary?.split('\n')[1]?.trim() ?? ''}`).join(' | ')}`);
    }, [axeSource, scheme === 'dark']);
    check(found.length === 0, `${name}, ${scheme}: axe: ${found.join('; ')}`);
  }
  await page.emulateMedia({ colorScheme: 'light' });
  await fits(page, name);
}
export async function fits(page, name) {
  const wide = await page.evaluate(() => {
    const w = document.documentElement.clientWidth;
    return document.documentElement.scrollWidth > w + 1 ? [...document.querySelectorAll('body *')].filter((e) => e.getBoundingClientRect().right > w + 1 && !e.closest('.table-scroll, .floor-switch, .unseen, .head nav')).slice(0, 3).map((e) => `${e.tagName}.${e.className?.baseVal ?? e.className} ${Math.round(e.getBoundingClientRect().right)}`) : [];
  });
  check(wide.length === 0, `${name}: wider than the window: ${wide.join(', ')}`);
}
// Pictures for the eye: 360 and 1280 px, light and dark.
export async function picture(page, name, { full = true } = {}) {
  const size = page.viewportSize();
  for (const width of [360, 1280]) {
    await page.setViewportSize({ width, height: width === 360 ? 640 : 900 });
    for (const scheme of ['light', 'dark']) {
      await page.emulateMedia({ colorScheme: scheme });
      await page.waitForTimeout(50);
      await page.screenshot({ path: `${shots}${name}-${width}-${scheme}.png`, fullPage: full });
    }
  }
  await page.emulateMedia({ colorScheme: 'light' });
  await page.setViewportSize(size);
}

// The shortest of several tries, no more than are needed to stay below `limit`: other work on the machine only ever makes
// one longer.
export async function best(limit, once, tries = 12) {
  let least = Infinity;
  for (let n = 0; n < tries && least >= limit; n++) least = Math.min(least, await once(n));
  return least;
}

// Lists of journeys run side by side, those of a list in their order. Those marked as timed come first, with nothing beside them.
export const timed = (name, body) => Object.assign([name, body], { timed: true });
export async function run(lists, only) {
  const wanted = ([name]) => !only || new RegExp(only).test(name);
  let passed = 0;
  let failed = 0;
  const one = async ([name, body]) => {
    const start = Date.now();
    try {
      await body();
      passed++;
      console.log(`ok ${name} (${Date.now() - start} ms)`);
    } catch (e) {
      failed++;
      console.log(`FAILED ${name}: ${e.stack?.split('\n').slice(0, 6).join('\n') ?? e}`);
    }
  };
  const inOrder = async (tests) => {
    for (const test of tests.filter(wanted)) await one(test);
  };
  await inOrder(lists.flat().filter((test) => test.timed));
  await Promise.all(lists.map((tests) => inOrder(tests.filter((test) => !test.timed))));
  return { passed, failed };
}

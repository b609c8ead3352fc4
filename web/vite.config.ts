import { createHash } from 'node:crypto';
import { copyFileSync, readFileSync } from 'node:fs';
import { type Plugin, defineConfig } from 'vitest/config';

// The service worker knows the files of this build by name, so a new build is a new worker.
function pageKeeper(): Plugin {
  return {
    name: 'page-keeper',
    apply: 'build',
    enforce: 'post', // the style sheet comes last into the bundle
    generateBundle(_, bundle) {
      const files = ['./', ...Object.keys(bundle).filter((f) => /\.(js|css)$|latin-\d+-normal[^/]*\.woff2$/.test(f) && !f.includes('latin-ext')).sort().map((f) => `./${f}`)];
      const text = readFileSync(new URL('src/sw.js', import.meta.url), 'utf8');
      const stamp = createHash('sha256').update(text + files.join() + readFileSync(new URL('index.html', import.meta.url), 'utf8')).digest('hex').slice(0, 12);
      this.emitFile({ type: 'asset', fileName: 'sw.js', source: text.replace('__FILES__', JSON.stringify(files)).replace('__STAMP__', JSON.stringify(stamp)) });
    },
    closeBundle() {
      copyFileSync(new URL('node_modules/@fontsource/source-serif-4/LICENSE', import.meta.url), new URL('dist/assets/source-serif-4-licence.txt', import.meta.url));
      copyFileSync(new URL('node_modules/@fontsource/source-sans-3/LICENSE', import.meta.url), new URL('dist/assets/source-sans-3-licence.txt', import.meta.url));
    },
  };
}

// The page is one document with a strict content policy: no inline script, no inline style, nothing as a data: script.
export default defineConfig({
  base: './',
  plugins: [pageKeeper()],
  build: {
    outDir: 'dist',
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    cssCodeSplit: false,
  },
  test: { include: ['tests/unit/**/*.test.ts'], environment: 'node' },
});

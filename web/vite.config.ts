import { defineConfig } from 'vitest/config';

// The page is one document with a strict content policy: no inline script, no inline style, nothing as a data: script.
export default defineConfig({
  base: './',
  build: {
    outDir: 'dist',
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    cssCodeSplit: false,
  },
  test: { include: ['tests/unit/**/*.test.ts'], environment: 'node' },
});

// Builds the browser's bench into the folder named: a script that gives `timeWrites(filled, count)` to the page it is put into.
import { fileURLToPath } from 'node:url';
import { build } from 'vite';

const [outDir] = process.argv.slice(2);
if (outDir === undefined) throw new Error('usage: node tests/bench.mjs FOLDER');
const entry = fileURLToPath(new URL('bench/writes.ts', import.meta.url));
await build({
  configFile: false,
  logLevel: 'warn',
  publicDir: false,
  build: { outDir, emptyOutDir: false, lib: { entry, formats: ['iife'], name: 'holdwatchBench', fileName: () => 'writes.js' } },
});

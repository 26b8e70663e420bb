// Starts the simulated phones straight from the client's sources; their protocol is told in machine/lines.ts. With a
// word behind it, `node tests/machine.mjs newer`, they are of a neighbouring version: they know the kinds of records
// that machine/kinds-newer.ts, machine/kinds-previous.ts or machine/kinds-older.ts names.
import { fileURLToPath } from 'node:url';
import { createServer } from 'vite';

const source = fileURLToPath(new URL('machine/lines.ts', import.meta.url));
const [version] = process.argv.slice(2);
const kinds = version && fileURLToPath(new URL(`machine/kinds-${version}.ts`, import.meta.url));
const versions = fileURLToPath(new URL('machine/kinds-', import.meta.url));
const neighbouring = {
  name: 'neighbouring',
  enforce: 'pre',
  resolveId: (asked, by) => (/(records\/|^\.\/)kinds$/.test(asked) && !by.startsWith(versions) ? kinds : null),
};
// It stays open while they answer: the client loads parts of itself when they are needed.
const loader = await createServer({
  configFile: false,
  logLevel: 'silent',
  appType: 'custom',
  optimizeDeps: { noDiscovery: true },
  plugins: kinds ? [neighbouring] : [],
  server: { middlewareMode: true, hmr: false, ws: false, watch: null },
});
const { answerLines } = await loader.ssrLoadModule(source);
await answerLines();
await loader.close();

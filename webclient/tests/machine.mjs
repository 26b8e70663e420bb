// Starts the simulated phones straight from the client's sources; their protocol is told in machine/lines.ts.
import { fileURLToPath } from 'node:url';
import { createServer } from 'vite';

const source = fileURLToPath(new URL('machine/lines.ts', import.meta.url));
// It stays open while they answer: the client loads parts of itself when they are needed.
const loader = await createServer({
  configFile: false,
  logLevel: 'silent',
  appType: 'custom',
  optimizeDeps: { noDiscovery: true },
  server: { middlewareMode: true, hmr: false, ws: false, watch: null },
});
const { answerLines } = await loader.ssrLoadModule(source);
await answerLines();
await loader.close();

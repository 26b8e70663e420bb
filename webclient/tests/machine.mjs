// Starts the simulated phones straight from the client's sources; their protocol is told in machine/lines.ts.
import { fileURLToPath } from 'node:url';
import { runnerImport } from 'vite';

const source = fileURLToPath(new URL('machine/lines.ts', import.meta.url));
const { module } = await runnerImport(source, { configFile: false, logLevel: 'silent' });
await module.answerLines();

// How the client is built, served for a look and tested.
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { VitePWA } from 'vite-plugin-pwa';
import type { Plugin } from 'vite';
import { defineConfig } from 'vitest/config';

// The same policy as the server's: a built client that breaks it is seen to break in `npm run preview`.
export const CONTENT_SECURITY_POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' data: blob:",
  "connect-src 'self'",
  "worker-src 'self'",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'self'",
  "frame-ancestors 'none'",
  "require-trusted-types-for 'script'",
  'trusted-types svelte-trusted-html holdwatch',
].join('; ');

const manifest = {
  id: '/',
  name: 'Holdwatch',
  short_name: 'Holdwatch',
  description: 'Looks at a holding male in the dark become a forecast, and the night to catch him.',
  lang: 'en',
  start_url: '/',
  scope: '/',
  display: 'standalone' as const,
  background_color: '#000000',
  theme_color: '#000000',
  icons: [
    { src: '/icons/fish.svg', sizes: 'any', type: 'image/svg+xml' },
    { src: '/icons/fish-192.png', sizes: '192x192', type: 'image/png' },
    { src: '/icons/fish-512.png', sizes: '512x512', type: 'image/png' },
    { src: '/icons/fish-mask-512.png', sizes: '512x512', type: 'image/png', purpose: 'maskable' as const },
  ],
};

const worker = VitePWA({
  strategies: 'injectManifest',
  srcDir: 'src/sw',
  filename: 'sw.ts',
  injectRegister: false,
  manifest,
  includeManifestIcons: false,
  injectManifest: {
    rollupFormat: 'iife',
    globPatterns: ['**/*.{html,js,css,svg,png,webmanifest}'],
    // Vite names its assets by their content, so they need no second hash.
    dontCacheBustURLsMatching: /^assets\//,
  },
});

/** What the first card needs, and what Look needs besides: as the modules themselves say, by their static imports. */
const needed = { first: new Set<string>(), looking: new Set<string>() };

function reach(host: { getModuleInfo(id: string): { importedIds: readonly string[] } | null }, id: string, found: Set<string>): void {
  if (found.has(id)) return;
  found.add(id);
  host.getModuleInfo(id)?.importedIds.forEach((next) => reach(host, next, found));
}

const reaching: Plugin = {
  name: 'holdwatch-reaching',
  apply: 'build',
  buildEnd(failed) {
    if (failed) return;
    const named = (end: string): string => {
      const id = [...this.getModuleIds()].find((one) => one.endsWith(end));
      if (id === undefined) throw new Error(`${end} is gone: what the first card needs cannot be told`);
      return id;
    };
    reach(this, named('/src/main.ts'), needed.first);
    reach(this, named('/src/pages/Look.svelte'), needed.looking);
  },
};

export default defineConfig({
  plugins: [svelte(), reaching, worker],
  build: {
    target: 'es2022',
    // To name beforehand what each page shares weighed 0.9 kB on the first load, and no page came sooner for it: the
    // worker keeps all of it.
    modulePreload: false,
    rolldownOptions: {
      // What Tonight shares comes in one file, what Look shares besides in another: on a slow phone each further one
      // costs a turn of the worker, and what Tonight does not need costs its first sight the reading.
      output: {
        advancedChunks: {
          groups: [
            { name: 'first', test: (id) => needed.first.has(id) },
            { name: 'looking', minShareCount: 2, test: (id) => needed.looking.has(id) },
          ],
        },
      },
      // How long plugins take says something of the machine, nothing of the client.
      checks: { bundlerTimings: false },
      onwarn(warning) {
        throw new Error(warning.message);
      },
    },
  },
  server: { proxy: { '/api': 'http://127.0.0.1:8000' } },
  preview: { headers: { 'Content-Security-Policy': CONTENT_SECURITY_POLICY } },
  // In the zone of the example household, as a phone of it would be.
  test: { include: ['tests/**/*.test.ts'], environment: 'node', env: { TZ: 'Europe/Copenhagen' } },
});

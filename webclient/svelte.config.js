// What Svelte is told: runes everywhere, and a warning of the compiler stops the build.
import { vitePreprocess } from '@sveltejs/vite-plugin-svelte';

export default {
  preprocess: vitePreprocess(),
  compilerOptions: { runes: true },
  onwarn(warning) {
    throw new Error(`${warning.code}: ${warning.message} (${warning.filename})`);
  },
};

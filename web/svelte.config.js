import { vitePreprocess } from '@sveltejs/vite-plugin-svelte'
export default {
  preprocess: vitePreprocess(),
  compilerOptions: { runes: true, cssHash: ({ hash, css }) => `h${hash(css).slice(0, 4)}` },
}

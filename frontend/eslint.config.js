import js from '@eslint/js'
import compat from 'eslint-plugin-compat'
import svelte from 'eslint-plugin-svelte'
import globals from 'globals'
import ts from 'typescript-eslint'
import svelteConfig from './svelte.config.js'

const typed = {
  projectService: true,
  tsconfigRootDir: import.meta.dirname,
  extraFileExtensions: ['.svelte'],
}

export default ts.config(
  { ignores: ['dist', 'src/api/schema.d.ts'] },
  js.configs.recommended,
  ...ts.configs.strict,
  ...svelte.configs.recommended,
  { languageOptions: { globals: { ...globals.browser } } },
  // What browsers of three years ago lack is refused; the list is in package.json.
  { ...compat.configs['flat/recommended'], files: ['src/**'] },
  {
    files: ['src/**/*.ts', '**/*.svelte'],
    ignores: ['src/sw/**', '**/*.test.ts'],
    languageOptions: { parserOptions: typed },
    rules: {
      '@typescript-eslint/no-floating-promises': 'error',
      '@typescript-eslint/no-misused-promises': ['error', { checksVoidReturn: false }],
      '@typescript-eslint/switch-exhaustiveness-check': 'error',
    },
  },
  {
    files: ['**/*.svelte', '**/*.svelte.ts'],
    languageOptions: { parserOptions: { parser: ts.parser, svelteConfig } },
    rules: {
      // Links are hash links of the router, there is no base path to resolve.
      'svelte/no-navigation-without-resolve': 'off',
      // Svelte's own props and snippets are reassigned by binding.
      'prefer-const': 'off',
      'svelte/prefer-const': ['error', { destructuring: 'all' }],
    },
  },
  { files: ['scripts/**', '*.config.*'], languageOptions: { globals: globals.node } },
)

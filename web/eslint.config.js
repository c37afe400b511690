// What the compiler does not see: forgotten promises, wrong use of hooks, controls nobody can reach.
import a11y from "eslint-plugin-jsx-a11y";
import hooks from "eslint-plugin-react-hooks";
import { defineConfig } from "eslint/config";
import ts from "typescript-eslint";

export default defineConfig(
  { ignores: ["dist", "src/api_types.ts"] },
  {
    files: ["src/**/*.ts", "src/**/*.tsx"],
    extends: [ts.configs.recommendedTypeChecked, a11y.flatConfigs.recommended],
    plugins: { "react-hooks": hooks },
    languageOptions: { parserOptions: { projectService: true } },
    rules: {
      ...hooks.configs.recommended.rules,
      // What scrolls must be reached by the keyboard (WCAG 2.1.1).
      "jsx-a11y/no-noninteractive-tabindex": "off",
      "@typescript-eslint/no-base-to-string": "off", // the book's values are text, numbers and truth
    },
  },
);

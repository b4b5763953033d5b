// What the browser's modules must keep beyond their types: short modules, short functions, no stray variables.
import js from "@eslint/js";
import jsdoc from "eslint-plugin-jsdoc";

export default [
  { ignores: ["node_modules/"] },
  {
    files: ["**/*.js"],
    plugins: { jsdoc },
    languageOptions: { ecmaVersion: 2024, sourceType: "module" },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    rules: {
      ...js.configs.recommended.rules,
      "no-undef": "off", // tsc knows the browser's names better
      "max-lines": ["error", 299],
      "max-lines-per-function": ["error", 60],
      complexity: ["error", 20],
      "prefer-const": "error",
      eqeqeq: "error",
      "no-var": "error",
      "no-shadow": ["error", { builtinGlobals: false }],
      "no-eval": "error",
      "no-implied-eval": "error",
      "no-restricted-properties": [
        "error",
        { property: "innerHTML", message: "text enters as text" },
        { property: "outerHTML", message: "text enters as text" },
      ],
      "jsdoc/require-jsdoc": [
        "error",
        { publicOnly: true, require: { ClassDeclaration: true, FunctionDeclaration: true, MethodDefinition: false } },
      ],
      "jsdoc/check-param-names": "off", // tsc looks after them, several on a line too
      "jsdoc/check-tag-names": "off",
    },
  },
];

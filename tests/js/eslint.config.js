// Lint rules of the chairside page's scripts.

import js from "@eslint/js";
import jsdoc from "eslint-plugin-jsdoc";

const BROWSER = [
  "AbortController", "Blob", "DOMException", "DOMParser", "Element", "Error", "File", "FormData",
  "HTMLElement", "HTMLInputElement", "Image", "ResizeObserver", "SVGElement", "URL",
  "URLSearchParams", "clearInterval", "clearTimeout", "document", "fetch", "history", "location",
  "navigator", "setInterval", "setTimeout", "window",
];

// Of the page in one file, and its worker.
const SINGLE = [
  "AbortSignal", "DecompressionStream", "Headers", "Response", "TextDecoder", "Worker", "atob",
  "caches", "localStorage", "self",
];

/** @type {(names: string[]) => Record<string, string>} */
const readable = (names) => Object.fromEntries(names.map((name) => [name, "readonly"]));

export default [
  { ignores: ["**/shared/types.js"] }, // generated
  js.configs.recommended,
  {
    files: ["**/*.js"],
    languageOptions: { globals: readable([...BROWSER, ...SINGLE]) },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    plugins: { jsdoc },
    rules: {
      "eqeqeq": "error",
      "max-len": ["error", { code: 100, ignoreUrls: false }],
      "max-lines": ["error", 400],
      "no-shadow": "error",
      "no-var": "error",
      "object-shorthand": "error",
      "prefer-const": "error",
      "prefer-template": "error",
      // Names that say nothing.
      "id-denylist": ["error", "asked", "one", "said", "thing", "told", "words"],
      // Text from people stays text.
      "no-restricted-properties": [
        "error",
        ...["innerHTML", "outerHTML", "insertAdjacentHTML", "write"].map((property) => ({
          property,
          message: "Build elements instead.",
        })),
      ],
      "jsdoc/require-jsdoc": [
        "error",
        { publicOnly: true, require: { ClassDeclaration: true, FunctionDeclaration: true } },
      ],
      "jsdoc/require-param": "error",
      "jsdoc/require-param-type": "error",
      "jsdoc/check-param-names": "error",
      "jsdoc/require-returns": ["error", { publicOnly: true }],
      "jsdoc/require-returns-type": "error",
    },
  },
];

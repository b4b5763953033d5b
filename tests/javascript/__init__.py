"""The browser's modules: types, lint, layout and unit tests; development only, nothing of it is shipped."""

// What the search puts first: the pages for a cook, before the names of the code and what has changed.
// Points as Sphinx gives them, but for those of names in the code; the beginnings of pages' names with their own.
var Scorer = {
  pages: {
    "docs/glossary": 12, "docs/how-to/": 9, "docs/tutorial": 8, "docs/reference/modules": -12,
    "docs/reference/json-answers": -10, "docs/reference/outlook-json": -10, "docs/reference/": 3,
    "examples/": 2, "docs/why": -4, "docs/architecture": -4, "CHANGELOG": -12, "api/": -12, "validation/": -4, "benchmarks/": -8,
  },
  score: function (result) {
    const begins = Object.keys(this.pages).find((each) => result[0].startsWith(each));
    return result[4] + (begins === undefined ? 0 : this.pages[begins]);
  },
  objNameMatch: 4, objPartialMatch: 1, objPrio: {0: 0, 1: -2, 2: -5}, objPrioDefault: 0,
  title: 15, partialTitle: 7, term: 5, partialTerm: 2,
};

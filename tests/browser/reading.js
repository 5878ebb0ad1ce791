// What holds of every page in every state: that anybody can read it, and that it fits.
"use strict";
const assert = require("node:assert");
const fs = require("node:fs");

async function accessible(page) {
  await page.evaluate(fs.readFileSync(require.resolve("axe-core/axe.min.js"), "utf8"));
  const result = await page.evaluate(() => window.axe.run(document, {resultTypes: ["violations"]}));
  assert.ok(result.passes.length > 5, "the rules were tried");
  assert.deepEqual(
      result.violations.map(
          (v) => `${v.id} (${v.impact}): ${v.help}; ${
              v.nodes.slice(0, 3).map((n) => n.html.slice(0, 120)).join(" | ")}`),
      []);
}

async function narrow(page) {
  const wide = await page.evaluate(() => {
    const root = document.documentElement;
    if (root.scrollWidth <= root.clientWidth) return [];
    return [
      `${root.scrollWidth} px in ${root.clientWidth}`,
      ...[...document.querySelectorAll("body *")]
          .filter((n) => n.getBoundingClientRect().right > root.clientWidth + 1)
          .slice(0, 5)
          .map((n) => n.outerHTML.slice(0, 100))
    ];
  });
  assert.deepEqual(wide, []);
}

module.exports = {
  accessible,
  narrow
};

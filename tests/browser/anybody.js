// A page as anybody may come to it: read to its end, by screen reader, on a narrow screen; and a
// picture of it.
"use strict";
const assert = require("node:assert");
const fs = require("node:fs");
const path = require("node:path");

/// Scrolls through the page, so that parts drawn only when visible are drawn: each part gets two
/// frames.
async function read(page) {
  await page.evaluate(async () => {
    const frame = () => new Promise((done) => requestAnimationFrame(done));
    for (let y = 0; y < document.documentElement.scrollHeight; y += innerHeight / 2) {
      scrollTo(0, y);
      await frame();
      await frame();
    }
    scrollTo(0, 0);
  });
  await page.waitForTimeout(300);
}

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

async function picture(t, page) {
  const asked = t.asked;
  const place = asked.called || asked.path.slice(1).replace(/\W+/g, "-") || "today";
  const name = `${place}-${asked.width}-${asked.dark ? "dark" : "light"}.png`;
  const file = path.join(process.env.PLAINWATER_SCREENSHOTS, name);
  await page.screenshot({path: file, fullPage: true});
  const paper = await page.evaluate(
      () => [document.body, document.documentElement]
                .map((n) => getComputedStyle(n).backgroundColor)
                .find((c) => !/, 0\)$/.test(c))
                .match(/\d+/g)
                .slice(0, 3)
                .map(Number));
  const bright = paper.reduce((a, b) => a + b) / 3;
  if (asked.path !== "/wall")
    assert.ok(
        asked.dark ? bright < 90 : bright > 200,
        `${asked.dark ? "dark" : "light"} paper: ${paper}`);
  assert.ok(fs.statSync(file).size > 5000, "a picture with something on it");
}

module.exports = {
  read,
  accessible,
  narrow,
  picture
};

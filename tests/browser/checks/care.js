// Rules for every page: no errors, nothing loaded from elsewhere, accessibility, the width of a
// phone.
"use strict";
const assert = require("node:assert");
const fs = require("node:fs");
const path = require("node:path");
const {accessible, narrow} = require("../reading");

const kPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; " +
    "connect-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
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
const size = (asked) => ({
  width: asked.width,
  height: asked.width < 500 ? 740 : 900,
  dark: asked.dark,
  touch: asked.width < 500
});

async function quiet(t) {
  const page = await t.open(t.asked.path);
  await read(page);
  await t.reader.violations(page);
  assert.ok(t.reader.requests.length >= 2, "the page asked for its parts");
  const answer = await page.request.get(t.base + t.asked.path);
  assert.equal(answer.headers()["content-security-policy"], kPolicy);
  // The policy is in force, and violations are noticed: foreign content is not run.
  const broken = await page.evaluate(
      () => new Promise((done) => {
        document.addEventListener("securitypolicyviolation", () => done(true), {once: true});
        const script = document.createElement("script");
        script.textContent = "window.ran = true";
        document.head.append(script);
        setTimeout(() => done(Boolean(window.ran) ? "it ran" : false), 2000);
      }));
  assert.equal(broken, true, "a script written into the page is stopped");
  t.reader.complaints =
      t.reader.complaints.filter((c) => !/console error: .*inline script/i.test(c));
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

/// A reader of the page: by eye, by hand, and by screen reader.
async function read_by_anybody(t) {
  const page = await t.open(t.asked.path, size(t.asked));
  await read(page);
  await narrow(page);
  await picture(t, page);
  await accessible(page);
}

module.exports = {
  "page-is-quiet" : quiet,
  "page-is-read-by-anybody" : read_by_anybody
};

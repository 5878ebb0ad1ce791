// node paint.js URL WIDTH HEIGHT TIMES: opens the season with an empty profile, and prints as JSON when it first showed
// something and when every strip in the window was drawn (milliseconds from the start of the navigation).
"use strict";
const path = require("node:path");
const { launch } = require(path.join(__dirname, "../../tests/browser/chromium"));

async function once(url, width, height) {
  const browser = await launch();
  try {
    const page = await browser.newPage({ viewport: { width, height } });
    await page.addInitScript(() => {
      window.seen = { paint: null, longest: 0 };
      new PerformanceObserver((list) => list.getEntriesByName("first-contentful-paint").forEach((e) => (window.seen.paint = e.startTime))).observe({ type: "paint", buffered: true });
      new PerformanceObserver((list) => list.getEntries().forEach((e) => (window.seen.longest = Math.max(window.seen.longest, e.duration)))).observe({ type: "longtask", buffered: true });
      const look = () => {
        const strips = [...document.querySelectorAll("figure[data-bench]")].filter((n) => ((box) => box.top < innerHeight && box.bottom > 0)(n.getBoundingClientRect()));
        const drawn = strips.length > 0 && strips.every((n) => n.querySelector("canvas"));
        // A canvas drawn in this frame is on the screen with the next one.
        if (drawn) requestAnimationFrame(() => (window.seen = { ...window.seen, strips: performance.now(), visible: strips.length }));
        else requestAnimationFrame(look);
      };
      requestAnimationFrame(look);
    });
    await page.goto(url);
    await page.waitForFunction(() => window.seen.strips && window.seen.paint, null, { timeout: 60000 });
    return await page.evaluate(() => ({
      ...window.seen, benches: document.querySelectorAll("figure[data-bench]").length,
      bytes: [...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")].reduce((sum, e) => sum + (e.transferSize || 0), 0),
    }));
  } finally {
    await browser.close();
  }
}

(async () => {
  const [url, width, height, times] = process.argv.slice(2), all = [];
  for (let i = 0; i < Number(times); ++i) all.push(await once(url, Number(width), Number(height)));
  console.log(JSON.stringify(all));
})().catch((error) => {
  console.error(error.stack);
  process.exitCode = 1;
});

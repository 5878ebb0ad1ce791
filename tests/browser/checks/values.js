// The pages show what the API returns and the ledger holds.
"use strict";
const assert = require("node:assert");
const fs = require("node:fs");
const said = require("../said");

const exported = () =>
    fs.readFileSync(process.env.LEDGER, "utf8").trim().split("\n").map((line) => JSON.parse(line));
const onPage = (page) => page.$$eval(
    "[data-bench]",
    (nodes) => Object.fromEntries(nodes.map(
        (node) =>
            [node.dataset.bench,
             Object.fromEntries([...node.querySelectorAll("[data-field]")].map(
                 (field) => [field.dataset.field, field.textContent])),
])));
/// Figures on the page may be in another unit than the service's sentences; then `because` is not
/// compared.
function compare(now, shown, fields) {
  const site = said.by(now.site);
  assert.deepEqual(
      Object.keys(shown).sort(), now.benches.map((b) => b.name).sort(), "each bench has its place");
  for (const bench of now.benches) {
    const have = shown[bench.name], night = bench.night;
    const expected = {
      feeding: said.feeding(bench.feeding, bench.strength_percent),
      strength: `${bench.strength_percent} %`,
      because: bench.because,
      rate: night.metabolic_rate === null ? undefined : site.share(night.metabolic_rate),
      night: night.mean_c === null ? undefined : site.temperature(night.mean_c),
      "used-to": night.acclimated_c === null ? undefined : site.temperature(night.acclimated_c),
    };
    for (const field of fields)
      if (expected[field] !== undefined)
        assert.equal(
            said.plain(have[field] ?? "nothing"), said.plain(expected[field]),
            `${field} of ${bench.name}`);
    const until = bench.hold?.decides ?? bench.until ?? bench.since;
    if (until)
      assert.ok(
          have.until.includes(site.day(until)),
          `${bench.name}: "${have.until}" shows ${site.day(until)}`);
    if (fields.includes("position")) {
      const words = bench.place.position === "unknown" ? "unknown" : bench.place.position;
      assert.ok(have.position.includes(words), `${bench.name} is ${words}: "${have.position}"`);
    }
  }
}
const kAll = ["feeding", "strength", "because", "rate", "night", "used-to", "position"];

async function today(t) {
  const page = await t.open("/"), now = await t.api("/api/now");
  assert.ok(now.benches.length > 1);
  compare(now, await onPage(page), kAll);
  assert.ok(
      (await page.textContent("main")).includes(said.by(now.site).moment(now.time)),
      "Today shows up to when it was decided");
  const needs = await page.$$eval(
      "[data-need]", (nodes) => nodes.map((node) => [node.dataset.need, node.textContent]));
  // The first ones; the others unfold.
  const told = [
    ...now.needs.filter((need) => !need.acknowledged_by).slice(0, 8),
    ...now.needs.filter((need) => need.acknowledged_by).slice(0, 4)
  ];
  assert.deepEqual(needs.map(([kind]) => kind), told.map((need) => need.kind));
  told.forEach(
      (need, i) => assert.ok(said.plain(needs[i][1]).includes(said.plain(need.text)), need.text));
  assert.equal(await page.textContent(".site"), now.site.name);
}

/// Compares the latest ledger row about each bench's feeding with the page.
async function todayAndLedger(t) {
  const page = await t.open("/"), shown = await onPage(page), rows = exported();
  for (const [bench, have] of Object.entries(shown)) {
    const last = rows.filter((row) => row.bench === bench).pop();
    assert.equal(
        have.feeding.replace(/\s+/g, " ").trim(), said.feeding(last.feeding, last.strength_percent),
        bench);
  }
}

async function bench(t) {
  const now = await t.api("/api/now");
  for (const bench of now.benches) {
    const page = await t.open(`/bench/${bench.name}`);
    const shown = await page.$eval(
        `article[data-bench="${bench.name}"]`,
        (node) => Object.fromEntries([...node.querySelectorAll("[data-field]")].map(
            (f) => [f.dataset.field, f.textContent])));
    compare({...now, benches: [bench]}, {[bench.name]: shown}, kAll);
    const site = said.by(now.site), text = said.plain(await page.textContent("main")),
          air = bench.air;
    for (const figure
             of [site.temperature(air.temperature_c), `${Math.round(air.humidity_percent)} %`,
                 `${air.vpd_kpa.toFixed(2)} kPa`, site.temperature(air.dew_point_c),
                 site.temperature(bench.night.minimum_c)])
      assert.ok(text.includes(said.plain(figure)), `${bench.name} shows ${figure}`);
    for (const sensor of bench.sensors)
      assert.ok(text.includes(sensor.name) && text.includes(site.moment(sensor.last)), sensor.name);
    await page.context().close();
  }
}

async function benchOrdersAndLedger(t) {
  const name = t.asked.bench, site = said.by((await t.api("/api/now")).site);
  const page = await t.open(`/bench/${name}`),
        {orders} = await t.api(`/api/benches/${name}/orders?limit=100`),
        {order} = await t.api(`/api/benches/${name}`);
  assert.ok(orders.length > 0 && order, "there are orders to show");
  await page.waitForFunction(
      () => document.querySelectorAll("#orders td").length > 0 &&
          document.querySelectorAll("#ledger [data-row]").length > 0);
  const text = said.plain(await page.textContent("#orders"));
  assert.ok(text.includes(String(order.sequence)), "the order in force has its number");
  assert.ok(text.includes(site.moment(order.valid_until)), "and says until when it counts");
  // Repeated orders may share a line, with the times of the first and the last.
  const word = (given) => JSON.stringify(
      [given.order.feeding, given.order.strength_percent, given.order.because, given.order.stock]);
  orders.forEach((given, i) => {
    if (i === 0 || word(orders[i - 1]) !== word(given))
      assert.ok(
          text.includes(site.moment(given.order.issued)),
          `an order last given ${given.order.issued}`);
    if (i === orders.length - 1 || word(orders[i + 1]) !== word(given))
      assert.ok(
          text.includes(site.moment(given.recorded)), `an order first given ${given.recorded}`);
  });
  const rows = await page.$$eval(
      "#ledger [data-row] [data-field=text]", (nodes) => nodes.map((n) => n.textContent));
  const expected = exported()
                       .filter((row) => row.bench === name)
                       .reverse()
                       .slice(0, rows.length)
                       .map((row) => said.plain(row.text));
  assert.ok(rows.length >= 5);
  assert.deepEqual(rows.map(said.plain), expected);
}

/// Lines are visible, even for sensors that report once an hour.
async function benchAir(t) {
  const page = await t.open(`/bench/${t.asked.bench}`);
  await page.waitForFunction(() => document.querySelectorAll("#air figure canvas").length >= 3);
  await page.waitForTimeout(300);
  const inked = await page.$$eval(
      "#air figure .canvas",
      (nodes) =>
          nodes.map((node) => Math.max(...[...node.querySelectorAll("canvas")].map((canvas) => {
            const {data, width} =
                canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height),
                         columns = new Set();
            for (let i = 0; i < data.length; i += 4) {
              const [r, g, b, a] = data.subarray(i, i + 4);
              if (a > 128 && Math.max(r, g, b) - Math.min(r, g, b) > 27)
                columns.add((i / 4) % width);
            }
            return columns.size / width;
          }))));
  for (const share of inked) assert.ok(share > 0.5, `lines across the plots: ${inked}`);
}

function unrun(runs) { return runs.flatMap(([word, times]) => Array(times).fill(word)); }
/// Compares every seventh night's text, from the last one back, as a screen reader would read it.
async function season(t) {
  const page = await t.open("/season"), data = await t.api("/api/season"),
        site = said.by((await t.api("/api/now")).site);
  assert.deepEqual(
      (await page.$$eval("figure[data-bench]", (nodes) => nodes.map((n) => n.dataset.bench)))
          .sort(),
      data.benches.map((b) => b.name).sort());
  let compared = 0;
  for (const bench of data.benches) {
    const plot = page.locator(`figure[data-bench="${bench.name}"] [role=slider]`),
          feeding = unrun(bench.feeding), strength = unrun(bench.strength_percent);
    await plot.scrollIntoViewIfNeeded();
    await plot.focus();
    await page.keyboard.press("End");
    for (let i = bench.nights - 1; i >= 0 && i > bench.nights - 80; i -= 7) {
      const date =
          new Date(Date.parse(bench.first_night) + i * 86400000).toISOString().slice(0, 10);
      const expected = [
        site.evening(date), bench.mean_c[i] !== null && site.temperature(bench.mean_c[i]),
        bench.minimum_c[i] !== null && site.temperature(bench.minimum_c[i]),
        bench.acclimated_c[i] !== null && site.temperature(bench.acclimated_c[i]),
        bench.metabolic_rate[i] !== null && site.share(bench.metabolic_rate[i]),
        said.feeding(feeding[i], strength[i])
      ].filter(Boolean);
      await page.waitForFunction(
          ([name, day]) =>
              document.querySelector(`figure[data-bench="${name}"] [data-field=readout]`)
                  .textContent.includes(day),
          [bench.name, expected[0]]);
      const words =
          await page.textContent(`figure[data-bench="${bench.name}"] [data-field=readout]`);
      for (const figure of expected)
        assert.ok(words.includes(figure), `${bench.name}, ${date}: "${words}" shows ${figure}`);
      ++compared;
      await page.keyboard.press("PageDown");
    }
  }
  assert.ok(compared > 30, `${compared} nights compared`);
}

/// The nights of the API equal those of a rehearsal of the same readings, an independent way to the
/// same figures.
async function seasonAndNights(t) {
  const [head, ...rows] =
      fs.readFileSync(process.env.NIGHTS, "utf8").trim().split("\n").map((line) => line.split(","));
  const at = Object.fromEntries(head.map((name, i) => [name, i])),
        data = await t.api("/api/season?from=2026-07-15&to=2027-06-30");
  let compared = 0;
  for (const row of rows) {
    const bench = data.benches.find((b) => b.name === row[at.bench]),
          i = Math.round((Date.parse(row[at.night]) - Date.parse(bench.first_night)) / 86400000);
    for (const [column, series] of [
             ["mean_c", bench.mean_c], ["minimum_c", bench.minimum_c],
             ["acclimated_c", bench.acclimated_c], ["metabolic_rate", bench.metabolic_rate]]) {
      if (row[at[column]] === "")
        assert.equal(series[i], null, `${row[at.night]} ${column}`);
      else
        assert.ok(
            Math.abs(series[i] - Number(row[at[column]])) < 0.0051,
            `${bench.name} ${row[at.night]} ${column}: ${series[i]}, rehearsed ${row[at[column]]}`);
      ++compared;
    }
    assert.equal(unrun(bench.feeding)[i], row[at.feeding], `${bench.name} ${row[at.night]}`);
  }
  assert.ok(compared > 1000, `${compared} figures compared`);
}

async function seasonHolds(t) {
  const page = await t.open("/season"), site = said.by((await t.api("/api/now")).site),
        rows = exported();
  for (const name of new Set(
           rows.filter((r) => r.decision === "hold-placed").map((r) => r.bench))) {
    const text = await page.textContent(`figure[data-bench="${name}"]`);
    for (const row of rows.filter((r) => r.bench === name && r.decision === "hold-placed"))
      assert.ok(text.includes(site.day(row.time)), `${name}: a hold placed ${row.time}`);
  }
}

async function wall(t) {
  const page = await t.open("/wall"), now = await t.api("/api/now");
  compare(now, await onPage(page), ["feeding"]);
  const text = said.plain(await page.textContent("body"));
  assert.ok(text.includes(said.by(now.site).moment(now.time)), "as of when");
  // On one line, so that it can be read from afar: the matter, and the bench.
  const [first] = now.needs.filter((need) => !need.acknowledged_by);
  if (first)
    assert.ok(
        text.includes(first.bench ?? first.pump ?? "") &&
            (await page.getAttribute("[data-need]", "data-need")) === first.kind,
        `the first need: ${text}`);
}

async function fahrenheit(t) {
  const now = await t.api("/api/now");
  assert.equal(now.site.unit, "fahrenheit");
  for (const path of ["/", "/season", `/bench/${now.benches[0].name}`, "/ledger", "/wall"]) {
    const page = await t.open(path);
    if (path === "/") compare(now, await onPage(page), kAll.filter((f) => f !== "because"));
    await page.waitForTimeout(500);
    const text = await page.evaluate(() => document.body.innerText);
    const celsius = text.match(/.{0,60}°C.{0,20}/);
    assert.ok(!celsius, `${path} shows no °C: ${celsius?.[0]}`);
    if (path !== "/wall") assert.ok(text.includes("°F"), `${path} shows °F`);
  }
}

module.exports = {
  "today-matches-the-api" : today,
  "today-matches-the-latest-ledger-rows" : todayAndLedger,
  "bench-matches-the-api" : bench,
  "bench-shows-its-orders-and-ledger" : benchOrdersAndLedger,
  "bench-draws-its-air" : benchAir,
  "season-matches-the-api" : season,
  "season-has-the-nights-of-a-rehearsal" : seasonAndNights,
  "season-has-the-ledger's-holds" : seasonHolds,
  "wall-matches-the-api" : wall,
  "fahrenheit-everywhere" : fahrenheit,
};

// The ledger: all rows, filters, older rows, and the download.
"use strict";
const assert = require("node:assert");
const fs = require("node:fs");
const path = require("node:path");
const said = require("../said");

const exported = () =>
    fs.readFileSync(process.env.LEDGER, "utf8").trim().split("\n").map((line) => JSON.parse(line));
const shown = (page) => page.$$eval("[data-row]", (nodes) => nodes.map((node) => {
  const of = (name) => node.querySelector(`[data-field=${name}]`).textContent;
  return {id: Number(node.dataset.row), time: of("time"), bench: of("bench"), text: of("text")};
}));
const like = (site, row) => ({
  time: site.moment(row.time),
  text: said.plain(row.text),
  ...(row.bench ? {bench: row.bench} : {})
});
const stripped = (row, of) =>
    ({time: row.time, text: said.plain(row.text), ...(of.bench ? {bench: row.bench} : {})});
function equal(site, rows, expected) {
  assert.deepEqual(
      rows.map((row, i) => stripped(row, expected[i] ?? {})),
      expected.slice(0, rows.length).map((row) => like(site, row)));
}

async function everything(page) {
  let before = -1;
  for (let rows = 0; (rows = await page.locator("[data-row]").count()) !== before &&
       (await page.isVisible("#more"));
       before = rows) {
    await page.click("#more");
    await page.waitForFunction((n) => document.querySelectorAll("[data-row]").length > n, rows);
  }
}
/// Every row of the ledger, newest first, by asking for older ones until there are none.
async function whole(t) {
  const site = said.by((await t.api("/api/now")).site), expected = exported().reverse();
  const page = await t.open("/ledger?decision=all");
  await page.waitForSelector("[data-row]");
  const first = (await shown(page)).length;
  assert.ok(first < expected.length, "not all at once");
  await everything(page);
  const rows = await shown(page);
  assert.equal(rows.length, expected.length);
  equal(site, rows, expected);
  assert.deepEqual(
      rows.map((r) => r.id), rows.map((r) => r.id).sort((a, b) => b - a), "the newest first");
}

async function filtered(t) {
  const site = said.by((await t.api("/api/now")).site), bench = t.asked.bench;
  const page = await t.open("/ledger?decision=all");
  await page.waitForSelector("[data-row]");
  await page.selectOption("#bench", bench);
  await page.waitForFunction((name) => {
    const all = [...document.querySelectorAll("[data-row] [data-field=bench]")];
    return all.length && all.every((n) => n.textContent === name);
  }, bench);
  await everything(page);
  equal(site, await shown(page), exported().reverse().filter((row) => row.bench === bench));
  assert.equal((await shown(page)).length, exported().filter((row) => row.bench === bench).length);
  assert.ok(page.url().includes(`bench=${bench}`), "the address shows it again");
  await page.fill("#from", "2026-10-01");
  await page.fill("#to", "2026-10-31");
  const local = (time) => new Date(time).toLocaleDateString("sv-SE", {timeZone: "Europe/London"});
  const october = exported().reverse().filter(
      (row) => row.bench === bench && local(row.time) >= "2026-10-01" &&
          local(row.time) <= "2026-10-31");
  assert.ok(october.length > 0);
  await page.waitForFunction(
      (n) => document.querySelectorAll("[data-row]").length === n, october.length);
  equal(site, await shown(page), october);
}

async function evidence(t) {
  const page = await t.open(`/ledger?decision=hold-placed&bench=${t.asked.bench}`),
        row = exported()
                  .filter((r) => r.decision === "hold-placed" && r.bench === t.asked.bench)
                  .pop();
  const first = page.locator("[data-row]").first();
  await first.locator("summary").focus();
  await page.keyboard.press("Enter");
  await first.locator("details dd").first().waitFor();
  const figures = said.plain(await first.locator("details").textContent());
  const numbers = Object.entries(row.evidence)
                      .filter(([name, value]) => typeof value === "number" && name.endsWith("_c"));
  assert.ok(numbers.length > 0, "a hold has temperatures behind it");
  for (const [name, value] of numbers)
    assert.ok(figures.includes(`${value.toFixed(1)} °C`), `${name} ${value} in: ${figures}`);
}

/// RFC 4180
function csv(text) {
  const rows = [[""]];
  let quoted = false;
  for (let i = 0; i < text.length; ++i) {
    const row = rows[rows.length - 1], c = text[i];
    if (quoted && c === '"' && text[i + 1] === '"')
      (row[row.length - 1] += '"'), ++i;
    else if (c === '"')
      quoted = !quoted;
    else if (!quoted && c === ",")
      row.push("");
    else if (!quoted && c === "\n")
      rows.push([""]);
    else if (quoted || c !== "\r")
      row[row.length - 1] += c;
  }
  return rows.filter((row) => row.length > 1);
}
async function download(t) {
  const page = await t.open("/ledger?decision=all");
  await page.waitForSelector("[data-row]");
  const [file] = await Promise.all([page.waitForEvent("download"), page.click("#csv")]);
  assert.match(file.suggestedFilename(), /\.csv$/);
  const kept = path.join(process.env.PLAINWATER_SCREENSHOTS, "ledger.csv");
  await file.saveAs(kept);
  const [head, ...rows] = csv(fs.readFileSync(kept, "utf8")), expected = exported();
  const at = Object.fromEntries(head.map((name, i) => [name, i]));
  assert.equal(rows.length, expected.length);
  rows.forEach((row, i) => {
    const of = expected[i];
    for (const name of ["time", "bench", "decision", "cause", "feeding", "text"])
      assert.equal(row[at[name]], of[name], `${name} of row ${i + 1}`);
    assert.equal(Number(row[at.strength_percent]), of.strength_percent);
    assert.deepEqual(JSON.parse(row[at.evidence]), of.evidence, `evidence of row ${i + 1}`);
  });
}

module.exports = {
  "ledger-shows-every-row-of-the-export" : whole,
  "ledger-filters" : filtered,
  "ledger-shows-the-figures" : evidence,
  "ledger-download-equals-the-export" : download
};

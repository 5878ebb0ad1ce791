// node run.js NAME: runs one check on the board at BOARD_URL. Exit code 0: it succeeded. node
// run.js --list: prints their names. A check can exchange lines with its caller: "@word …" on
// output, and plain lines on input.
"use strict";
const fs = require("node:fs");
const path = require("node:path");
const readline = require("node:readline");
const {launch, Reader} = require("./chromium");

const checks = Object.assign(
    {},
    ...fs.readdirSync(path.join(__dirname, "checks"))
        .map((file) => require(path.join(__dirname, "checks", file))));

async function main(name) {
  const base = process.env.BOARD_URL || "";
  const lines = [], waiting = [];
  readline.createInterface({input: process.stdin})
      .on("line", (line) => (waiting.length ? waiting.shift()(line) : lines.push(line)));
  const browser = await launch();
  const reader = new Reader(browser, base);
  const t = {
    open: (...of) => reader.open(...of),
    reader,
    base,
    asked: JSON.parse(process.env.ASKED || "{}"),
    /// Fetches JSON from the board.
    async api(of) {
      const answer = await fetch(base + of, {
        headers: process.env.BOARD_TOKEN ? {Authorization: `Bearer ${process.env.BOARD_TOKEN}`} : {}
      });
      if (!answer.ok) throw new Error(`${of}: ${answer.status} ${await answer.text()}`);
      return answer.json();
    },
    say: (word, value = null) => console.log(`@${word} ${JSON.stringify(value)}`),
    heard: () =>
        (lines.length ? Promise.resolve(lines.shift()) : new Promise((done) => waiting.push(done))),
  };
  try {
    await checks[name](t);
    if (reader.complaints.length)
      throw new Error(`the browser complains:\n${reader.complaints.join("\n")}`);
  } finally { await browser.close(); }
}

const name = process.argv[2];
if (name === "--list") {
  console.log(Object.keys(checks).join("\n"));
} else if (!Object.hasOwn(checks, name)) {
  console.error(`there is no check ${name}; --list names them`);
  process.exitCode = 2;
} else {
  main(name).then(() => process.exit(0), (error) => {
    console.error(error.stack || String(error));
    process.exit(1);
  });
}

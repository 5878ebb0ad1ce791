// Chromium, driven by playwright-core: a fresh profile each time, no background services, and all
// its errors recorded. `node chromium.js` runs one for many checks until its input ends, and prints
// its address; checks find it by CHROMIUM_AT. Without that, each starts its own.
"use strict";
const {chromium} = require("playwright-core");

const kFlags = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  "--no-default-browser-check",
  "--disable-default-apps",
];
// Far from the site's zone, so that a time on a page can only be right if it uses that.
const kElsewhere = {
  timezoneId: "Pacific/Auckland",
  locale: "de-DE"
};

const kHow = {
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  headless: true,
  args: kFlags
};
const launch = () =>
    process.env.CHROMIUM_AT ? chromium.connect(process.env.CHROMIUM_AT) : chromium.launch(kHow);

async function serve() {
  const server = await chromium.launchServer(kHow);
  console.log(server.wsEndpoint());
  process.stdin.resume();
  process.stdin.on("end", () => server.close());
}

/// Opens pages of one origin. Errors of a page, and requests to other sites, are collected in
/// `complaints`.
class Reader {
  constructor(browser, base) { Object.assign(this, {browser, base, complaints: [], requests: []}); }
  /// `width`, `height`, `dark`, `touch`; `troubled`: the service goes away, so failed requests are
  /// no complaint; `prepare(page)`: before anything is asked.
  async open(path, {
    width = 1440,
    height = 900,
    dark = false,
    touch = false,
    troubled = false,
    wait = true,
    prepare
  } = {}) {
    const context = await this.browser.newContext({
      ...kElsewhere,
      viewport: {width, height},
      colorScheme: dark ? "dark" : "light",
      hasTouch: touch,
      isMobile: touch,
      acceptDownloads: true,
    });
    const page = await context.newPage();
    page.setDefaultTimeout(Number(process.env.PATIENCE || 30) * 1000);
    await page.addInitScript(() => {
      window.violations = [];
      document.addEventListener(
          "securitypolicyviolation",
          (e) => window.violations.push(`${e.violatedDirective}: ${e.blockedURI || e.sourceFile}`));
    });
    this.listen(page, troubled);
    if (prepare) await prepare(page);
    const address = path.includes("://") ? path : this.base + path;
    await page.goto(address).catch((failed) => {
      // On a loaded machine Chromium now and then breaks off the first navigation of a new page.
      if (!failed.message.includes("ERR_ABORTED")) throw failed;
      return page.goto(address);
    });
    if (wait) await page.waitForSelector('body[data-ready="yes"]');
    return page;
  }
  listen(page, troubled) {
    page.on("console", (message) => {
      if (message.type() !== "error" && message.type() !== "warning") return;
      if (troubled && /Failed to load resource|ERR_/.test(message.text())) return;
      this.complaints.push(`console ${message.type()}: ${message.text()}`);
    });
    page.on("pageerror", (error) => this.complaints.push(`script: ${error.stack || error}`));
    page.on("request", (request) => {
      this.requests.push(request.url());
      if (!/^(data|blob):/.test(request.url()) && !request.url().startsWith(this.base))
        this.complaints.push(`asks elsewhere: ${request.url()}`);
    });
    page.on(
        "response",
        (answer) => answer.status() >= 400 && !troubled &&
            this.complaints.push(`${answer.status()} for ${answer.url()}`));
  }
  async violations(page) {
    for (const found of await page.evaluate(() => window.violations))
      this.complaints.push(`content security policy: ${found}`);
  }
}

module.exports = {
  launch,
  Reader
};

if (require.main === module) serve();

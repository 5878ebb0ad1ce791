// What the service is at, and that it stays so: /api/now once, then the stream of what changes.
// When the stream breaks it is taken up again by itself and everything is asked anew, since what
// happened meanwhile was not heard.
"use strict";
plainwater.live = (() => {
  const kStill = 15 * 60 * 1000, kPoll = 10000, kRetry = 4000, kHidden = 60000, kPatience = 60000,
        kSoon = 15000;
  // The service sends something every 15 s: a stream without is lost, though no end of it came.
  const kSilent = 45000, kOpening = 10000, kLook = 5000;
  const hearers = {now: [], bench: [], house: [], ledger: [], asked: [], connection: []};
  let now = null, stream = null, connected = false, heard = null, engineTime = null, moved = 0,
      polling = 0, asked = 0, heardAt = 0;

  const on = (what, call) => hearers[what].push(call);
  const tell = (what, value) => hearers[what].forEach((call) => call(value));

  async function read(path, patience = kPatience) {
    // What a browser says of a failed request is in the browser's words, not the house's.
    const limit = AbortSignal.timeout(patience);
    const answer =
        await fetch(path, {headers: {Accept: "application/json"}, signal: limit}).catch(() => {
          throw new Error("");
        });
    if (answer.status === 401) {
      location.assign(`/enter?to=${encodeURIComponent(location.pathname)}`);
      throw new Error("");
    }
    const body = await answer.json().catch(() => {
      if (answer.ok) throw new Error("");  // it was cut off
      return {};
    });
    if (!answer.ok) throw Object.assign(new Error(body.detail || ""), {status: answer.status});
    return body;
  }

  function keep(house) {
    heard = house.time || heard;
    plainwater.format.at(heard);
    if (house.time !== engineTime) {
      engineTime = house.time;
      moved = Date.now();
    }
  }
  function setConnected(yes) {
    document.body.dataset.live = yes ? "yes" : "no";
    if (connected === yes && now) return;
    connected = yes;
    tell("connection", yes);
  }

  async function refresh() {
    const turn = ++asked;
    try {
      const fresh = await read("/api/now", kSoon);
      if (turn !== asked) return;  // a later question will be answered
      plainwater.format.use(fresh.site);
      now = fresh;
      keep(now);
      tell("now", now);
    } catch {
      if (turn !== asked) return;
      tell("connection", connected);
      // While polling the next question comes anyway.
      if (!polling) later(() => turn === asked && stream && refresh());
    }
  }

  /// What could not be read is asked for again after a while.
  const later = (call) => void setTimeout(call, kRetry);

  const parsed = (call) => (event) => {
    heardAt = Date.now();
    let data;
    try {
      data = JSON.parse(event.data);
    } catch { return; }
    call(data);
  };
  function open() {
    const mine = (stream = new EventSource("/api/events"));
    heardAt = Date.now();
    stream.onopen = () => {
      heardAt = Date.now();
      clearInterval(polling);
      polling = 0;
      setConnected(true);
      refresh();
    };
    stream.onerror = () => {
      setConnected(false);
      if (stream !== mine || mine.readyState !== EventSource.CLOSED)
        return;  // it tries again by itself
      // Refused: another page must close first, or somebody must enter. Until then the old way.
      if (!polling) polling = setInterval(refresh, kPoll), refresh();
      setTimeout(() => stream === mine && open(), kRetry);
    };
    stream.addEventListener("bench", parsed((bench) => {
                              if (!now) return;
                              const at = now.benches.findIndex((b) => b.name === bench.name);
                              if (at < 0) return void refresh();
                              now.benches[at] = bench;
                              tell("bench", bench);
                            }));
    stream.addEventListener("house", parsed((house) => {
                              keep(house);
                              if (!now) return;
                              Object.assign(now, house, {benches: now.benches});
                              plainwater.format.use(now.site);
                              tell("house", now);
                            }));
    stream.addEventListener("ledger", parsed((ledger) => tell("ledger", ledger)));
    stream.addEventListener("asked", parsed((what) => tell("asked", what)));
    stream.addEventListener("alive", parsed(() => {}));
  }

  function close() {
    if (stream) stream.close();
    stream = null;
    clearInterval(polling);
    polling = 0;
    setConnected(false);
  }

  function look() {
    const opening = stream && stream.readyState === EventSource.CONNECTING;
    if (stream && Date.now() - heardAt > (opening ? kOpening : kSilent)) close(), open();
  }

  /// The engine's time stands still although the stream is there.
  function still() {
    if (!now || !engineTime) return false;
    // Not by this machine's idea of the time, which may be wrong.
    return Date.now() - moved > kStill;
  }
  function start() {
    document.body.dataset.live = "no";
    open();
    refresh();
    // A browser has few connections to one service: a page that nobody sees gives its own back.
    let hidden = 0;
    document.addEventListener("visibilitychange", () => {
      clearTimeout(hidden);
      if (document.visibilityState !== "visible")
        hidden = setTimeout(close, kHidden);
      else if (stream)
        refresh();
      else
        open();
    });
    addEventListener("pagehide", close);
    addEventListener("pageshow", (event) => event.persisted && !stream && open());
    setInterval(look, kLook);
    setInterval(() => tell("connection", connected), 30000);
  }

  return {
    start,
    on,
    read,
    refresh,
    later,
    still,
    now: () => now,
    heard: () => heard,
    connected: () => connected
  };
})();

// What Today adds to a bench: the newest air, and the two commonest wishes.
"use strict";
plainwater.benchToday = (() => {
  const {el, write, field} = plainwater.dom, texts = plainwater.texts, format = plainwater.format,
                    live = plainwater.live;
  const kMinute = 60000;

  function age(time) {
    const minutes = Math.round((Date.parse(live.heard()) - Date.parse(time)) / kMinute);
    return minutes < 90 ? texts.minutes(minutes) : texts.hours(Math.round(minutes / 60));
  }
  function air(bench) {
    const a = bench.air;
    if (!format.known(a.temperature_c)) {
      const last = bench.sensors.map((s) => s.last).filter(Boolean).sort().pop();
      return texts.airGone(last ? format.moment(last) : "");
    }
    const said = texts.airNow(
        format.temperature(a.temperature_c),
        format.known(a.humidity_percent) ? format.percent(a.humidity_percent) : "");
    return a.late ? `${said}, ${texts.airOld(age(a.time))}` : said;
  }
  /// Its pump, where that waits to be armed: beside the first of its benches.
  function asks(bench) {
    const now = live.now(), pump = now.pumps.find((p) => p.name === bench.pump),
          away = now.absence && now.absence.from <= now.time,
          waits = pump && !away && !pump.armed && pump.trusted && pump.benches[0] === bench.name;
    return [
      {request: bench.hold ? "release" : "hold", bench: bench.name},
      {request: "watered", bench: bench.name}, ...(waits ? [{request: "arm", pump: pump.name}] : [])
    ];
  }
  function add(node) {
    const said = node.querySelector(".said");
    said.querySelector(".plants").after(
        el("p", {class: "air-now"}, texts.airHead, " ", el("span", {"data-field": "air"})));
    said.append(el("div", {class: "bench-hands"}));
  }
  function update(node, bench) {
    const now = field(node, "air");
    write(now, air(bench));
    now.closest("p").classList.toggle("old", bench.air.late || !bench.air.time);
    const place = node.querySelector(".bench-hands"), wanted = asks(bench),
          key = JSON.stringify(wanted);
    if (place.dataset.asks === key && place.firstChild) return;
    const focused = place.contains(document.activeElement);
    place.dataset.asks = key;
    const buttons = plainwater.worklist.hands(wanted);
    place.replaceChildren(...(buttons ? [buttons] : []));
    if (focused) place.querySelector("button")?.focus();
  }
  /// Another reader may ask for other things.
  function forget(node) {
    node.querySelector(".bench-hands").dataset.asks = "";
    node.querySelector(".bench-hands").replaceChildren();
  }
  return {add, update, forget};
})();

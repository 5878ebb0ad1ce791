// Small means to write a page: elements, text that changes only when it must, and when to begin.
"use strict";
plainwater.dom = (() => {
  const kSvg = "http://www.w3.org/2000/svg";

  function fill(node, attributes, children) {
    for (const [name, value] of Object.entries(attributes || {})) {
      if (value === null || value === undefined || value === false) continue;
      if (name.startsWith("on"))
        node.addEventListener(name.slice(2), value);
      else
        node.setAttribute(name, value === true ? "" : value);
    }
    add(node, children);
    return node;
  }
  function add(node, children) {
    for (const child of [children].flat(3))
      if (child !== null && child !== undefined && child !== false && child !== "")
        node.append(child);
  }
  const el = (tag, attributes, ...children) =>
      fill(document.createElement(tag), attributes, children);
  const svg = (tag, attributes, ...children) =>
      fill(document.createElementNS(kSvg, tag), attributes, children);

  /// Writes only what differs, so that a reader's place and a screen reader's peace are kept. Gives
  /// whether it did.
  function write(node, text) {
    if (!node || node.textContent === text) return false;
    node.textContent = text;
    return true;
  }
  /// The same for what a person should notice: a value that changed is marked for a moment.
  function rewrite(node, text) {
    const before = node.textContent;
    if (write(node, text) && before !== "") mark(node);
  }
  function mark(node) {
    node.classList.remove("written");
    void node.offsetWidth;  // so that the mark begins anew
    node.classList.add("written");
  }
  const field = (node, name) => node.querySelector(`[data-field="${name}"]`);
  /// Makes `node` hold exactly these, in this order, leaving those alone that are there already.
  function arrange(node, children) {
    const wanted = new Set(children);
    // What goes first, or else what stays would be moved up before it, and lose its focus.
    for (const child of [...node.children])
      if (!wanted.has(child)) child.remove();
    children.forEach(
        (child, i) =>
            node.children[i] !== child && node.insertBefore(child, node.children[i] || null));
  }
  /// `figures`: columns to set right; `told`: the caption is seen, not only heard.
  function table(caption, heads, rows, figures = [], told = true) {
    const kind = (i) => (figures.includes(i) ? "figure" : null);
    const head = heads.map((h, i) => el("th", {scope: "col", class: kind(i)}, h));
    const cell = (c, i) =>
        el(i === 0 ? "th" : "td", {scope: i === 0 ? "row" : null, class: kind(i)}, c);
    return el(
        "div", {class: "wide", tabindex: "0", role: "group", "aria-label": caption},
        el("table", {}, el("caption", {class: told ? null : "hidden"}, caption),
           el("thead", {}, el("tr", {}, head)),
           el("tbody", {}, rows.map((row) => el("tr", {}, row.map(cell))))));
  }

  /// Calls once the node has come near the window.
  function whenSeen(node, call) {
    if (!("IntersectionObserver" in window)) return void call();
    new IntersectionObserver((seen, observer) => {
      if (seen.some((s) => s.isIntersecting)) {
        observer.disconnect();
        call();
      }
    }, {rootMargin: "300px"}).observe(node);
  }
  /// Changes the page without moving what somebody has in hand: the focused thing stays where it is
  /// seen, whatever appears or goes above it.
  function steady(change) {
    const held = document.activeElement === document.body ? null : document.activeElement;
    const top = held && held.getBoundingClientRect().top,
          seen = held && top > 0 && top < innerHeight, said = change();
    if (seen && held.isConnected) scrollBy(0, held.getBoundingClientRect().top - top);
    return said;
  }
  function start(call) {
    if (document.readyState === "loading")
      document.addEventListener("DOMContentLoaded", call);
    else
      call();
  }
  const ready = () => (document.body.dataset.ready = "yes");

  return {el, svg, add, write, rewrite, field, arrange, table, whenSeen, steady, start, ready};
})();

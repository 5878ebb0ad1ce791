// A plot in ink: dygraphs with our own hands. Drag or pinch to look closer, arrows to go from one
// point in time to the next, and what is pointed at in words.
"use strict";
plainwater.plot = (() => {
  const {el, write} = plainwater.dom;
  const kDragged = 6, kTwice = 350;

  // Legends and labels are the page's own; dygraphs' legend would write inline styles, which the
  // page forbids.
  Dygraph.PLUGINS = Dygraph.PLUGINS.filter((p) => p === Dygraph.Plugins.Axes);

  /// The colours of the page, for canvases.
  function inks() {
    const style = getComputedStyle(document.documentElement), ink = {};
    for (const name
             of ["paper", "ink", "quiet", "rule", "axis", "slate", "moss", "rust", "night", "faint",
                 "out", "unsure"])
      ink[name] = style.getPropertyValue(`--${name}`).trim();
    ink.serif = style.getPropertyValue("--serif").trim();
    return ink;
  }
  /// Hatching for what is not decided.
  function hatch(ctx, colour) {
    const tile = document.createElement("canvas"), k = 8;
    tile.width = tile.height = k;
    const t = tile.getContext("2d");
    t.strokeStyle = colour;
    t.globalAlpha = 0.45;
    t.lineWidth = 1.4;
    t.beginPath();
    for (const a of [-k, 0, k]) t.moveTo(a, k), t.lineTo(a + k, 0);
    t.stroke();
    return ctx.createPattern(tile, "repeat");
  }
  const nearest = (xs, x) => {
    let low = 0, high = xs.length - 1;
    while (low < high) {
      const mid = (low + high) >> 1;
      if (xs[mid] < x)
        low = mid + 1;
      else
        high = mid;
    }
    return low > 0 && x - xs[low - 1] < xs[low] - x ? low - 1 : low;
  };

  /// Ruled lines at the ticks, under everything else; those of the days begin at `top`.
  function rule(ctx, area, g, ink, top) {
    ctx.save();
    ctx.strokeStyle = ink.rule;
    ctx.lineWidth = 1;
    ctx.beginPath();
    for (const {pos, has_tick} of g.layout_.yticks) {
      const y = Math.round(area.y + pos * area.h) + 0.5;
      if (has_tick !== false) ctx.moveTo(area.x, y), ctx.lineTo(area.x + area.w, y);
    }
    for (const {pos, has_tick} of g.layout_.xticks) {
      const x = Math.round(area.x + pos * area.w) + 0.5;
      if (has_tick !== false) ctx.moveTo(x, top), ctx.lineTo(x, area.y + area.h);
    }
    ctx.stroke();
    ctx.restore();
  }

  /// Fingers and mouse on the canvas, as dygraphs hands them over.
  function hands(of) {
    const {span} = of;
    let from = null, pinch = null, tapped = 0;
    const x = (touch, g) => touch.pageX - g.graphDiv.getBoundingClientRect().left - window.scrollX;
    const time = (px, g) => g.toDataXCoord(px);
    const bar = (a, b) => {
      of.bar.hidden = a === null || Math.abs(b - a) < kDragged;
      if (of.bar.hidden) return;
      of.bar.style.left = `${Math.min(a, b)}px`;
      of.bar.style.width = `${Math.abs(b - a)}px`;
    };
    function release(event) {
      window.removeEventListener("mouseup", release);
      const g = of.graph, to = g && x(event, g);
      if (g && from !== null && Math.abs(to - from) >= kDragged)
        span.show(time(Math.min(from, to), g), time(Math.max(from, to), g));
      from = null;
      bar(null, null);
    }
    return {
      mousedown(event, g) {
        if (event.button !== 0) return;
        event.preventDefault();
        of.node.focus({preventScroll: true});
        from = x(event, g);
        window.addEventListener("mouseup", release);
      },
      mousemove(event, g) {
        const at = x(event, g);
        if (from !== null) bar(from, at);
        span.point(time(at, g));
      },
      mouseout() {
        if (from === null && document.activeElement !== of.node) span.point(null);
      },
      dblclick: () => span.reset(),
      touchstart(event, g) {
        if (event.touches.length === 2) {
          const [a, b] = [x(event.touches[0], g), x(event.touches[1], g)];
          pinch = {a: time(a, g), b: time(b, g)};
          event.preventDefault();
          return;
        }
        span.point(time(x(event.touches[0], g), g));
      },
      touchmove(event, g) {
        if (pinch && event.touches.length === 2) {
          event.preventDefault();
          const area = g.getArea();
          const pa = x(event.touches[0], g) - area.x, pb = x(event.touches[1], g) - area.x;
          if (Math.abs(pb - pa) < 12) return;
          const scale =
              (pinch.b - pinch.a) / (pb - pa);  // the times under the fingers stay under them
          if (scale > 0) span.show(pinch.a - pa * scale, pinch.a + (area.w - pa) * scale);
        } else if (event.touches.length === 1 && !pinch) {
          span.point(time(x(event.touches[0], g), g));
        }
      },
      touchend(event) {
        if (event.touches.length) return;
        if (!pinch && event.timeStamp - tapped < kTwice) span.reset();
        tapped = pinch ? 0 : event.timeStamp;
        pinch = null;
      },
    };
  }

  function keys(of) {
    return (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const {span, xs} = of, now = span.at(), [from, to] = span.shown();
      const go = (i) => {
        span.point(xs[i]);
        if (xs[i] < from || xs[i] > to) span.show(xs[i] - (to - from) / 2, xs[i] + (to - from) / 2);
      };
      const step = (n) =>
          go(now === null ? nearest(xs, n > 0 ? from : to)
                          : Math.min(Math.max(nearest(xs, now) + n, 0), xs.length - 1));
      const around = now === null || now < from || now > to ? (from + to) / 2 : now;
      const does = {
        ArrowRight: () => step(1),
        ArrowLeft: () => step(-1),
        ArrowUp: () => step(1),
        ArrowDown: () => step(-1),
        PageUp: () => step(of.leap),
        PageDown: () => step(-of.leap),
        Home: () => go(0),
        End: () => go(xs.length - 1),
        "+": () => span.zoom(0.6, around),
        "=": () => span.zoom(0.6, around),
        "-": () => span.zoom(1 / 0.6, around),
        Escape: () => span.reset(),
      }[event.key];
      if (!does || !xs.length) return;
      event.preventDefault();
      does();
    };
  }

  /// What is plotted: `rows` of [x, …], `labels`, `options` for dygraphs by (ink), `underlay(ctx,
  /// area, graph, ink)`, `say(i)` in words what stands at point i, `name` for screen readers,
  /// `readout` to write the words to, `span`, `leap` (points a PageUp goes), `height`, `into`:
  /// where it stands. Gives { node, remove }.
  function make(what) {
    const canvas = el("div", {class: "canvas"}),
          cursor = el("div", {class: "cursor", hidden: true}),
          bar = el("div", {class: "bar", hidden: true});
    const node =
        el("div", {
          class: "plot",
          tabindex: "0",
          role: "slider",
          "aria-label": what.name,
          "aria-orientation": "horizontal",
          "aria-describedby": what.describedby || null
        },
           canvas, cursor, bar);
    const of = {...what, xs: what.rows.map((r) => r[0]), node, bar, graph: null};
    canvas.style.height = `${what.height}px`;
    node.setAttribute("aria-valuemin", 0);
    node.setAttribute("aria-valuemax", Math.max(0, of.xs.length - 1));
    node.addEventListener("keydown", keys(of));
    what.into.append(node);  // dygraphs measures, so it must be in the page
    let ink = inks(), last = "";

    function point(at) {
      const i = at === null || !of.xs.length ? -1 : nearest(of.xs, at);
      const text = i < 0 ? what.nothing : what.say(i);
      write(what.readout, text);
      what.readout.classList.toggle("idle", i < 0);
      node.setAttribute("aria-valuenow", i < 0 ? of.xs.length - 1 : i);
      node.setAttribute("aria-valuetext", text);
      const g = of.graph, [from, to] = what.span.shown();
      cursor.hidden = i < 0 || !g || of.xs[i] < from || of.xs[i] > to;
      if (!cursor.hidden) cursor.style.left = `${g.toDomXCoord(of.xs[i])}px`;
    }
    function draw() {
      of.graph = new Dygraph(canvas, what.rows, {
        labels: what.labels,
        labelsUTC: true,
        legend: "never",
        showLabelsOnHighlight: false,
        highlightCircleSize: 0,
        animatedZooms: false,
        xRangePad: 0,
        rightGap: 2,
        axisLabelFontSize: 12,
        axisLabelWidth: 52,
        axisLineColor: ink.axis,
        dateWindow: what.span.shown(),
        interactionModel: hands(of),
        underlayCallback(ctx, area, g) {
          rule(ctx, area, g, ink, area.y + (what.head || 0));
          if (what.underlay) what.underlay(ctx, area, g, ink);
        },
        ...what.options(ink),
      });
      last = what.span.shown().join();
      point(what.span.at());
    }
    const deaf = what.span.hear((shown, at) => {
      if (of.graph && last !== shown.join()) of.graph.updateOptions({dateWindow: shown});
      last = shown.join();
      point(at);
    });
    const scheme = matchMedia("(prefers-color-scheme: dark)");
    const redraw = () => {
      ink = inks();
      of.graph.destroy();
      draw();
    };
    scheme.addEventListener("change", redraw);
    draw();
    return {
      node,
      remove() {
        deaf();
        scheme.removeEventListener("change", redraw);
        of.graph.destroy();
        of.graph = null;
        node.remove();
      },
    };
  }
  return {make, hatch, inks, nearest};
})();

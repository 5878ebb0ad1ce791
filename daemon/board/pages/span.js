// The stretch of time that all strips of a page show, and the night that is pointed at in all of
// them.
"use strict";
plainwater.span = (() => {
  /// `least`: the shortest stretch, in milliseconds.
  function make(least) {
    const hearers = new Set();
    let all = [0, 1], shown = all, at = null, due = 0;
    const tell = () => {
      due = due || requestAnimationFrame(() => {
              due = 0;
              hearers.forEach((call) => call(shown, at));
            });
    };
    function show(from, to) {
      const width = Math.min(Math.max(to - from, least), all[1] - all[0]);
      const middle = (from + to) / 2;
      const start = Math.min(Math.max(middle - width / 2, all[0]), all[1] - width);
      shown = [start, start + width];
      tell();
    }
    return {
      hear: (call) => (hearers.add(call), () => hearers.delete(call)),
      /// The whole of it; what was shown before is forgotten.
      setAll(from, to) {
        all = [from, to];
        shown = all;
        tell();
      },
      show,
      reset: () => show(all[0], all[1]),
      zoom(factor, around) {
        const [from, to] = shown;
        show(around - (around - from) * factor, around + (to - around) * factor);
      },
      point(x) {
        if (x === at) return;
        at = x;
        tell();
      },
      shown: () => shown,
      whole: () => shown[0] === all[0] && shown[1] === all[1],
      at: () => at,
    };
  }
  return {make};
})();

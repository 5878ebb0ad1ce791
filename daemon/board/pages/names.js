// Names of benches, which people make as long as they like: a line may end after a hyphen or a
// space, never within a word. What is too long for its place in one piece gets smaller letters
// (house.css, .named), and at last an ellipsis: its title has the whole of it.
"use strict";
plainwater.names = (() => {
  const {el} = plainwater.dom;
  const parts = (name) => name.split(/(?<=[-\s])(?=[^-\s])/);

  /// What to put into a heading or a link in place of the name.
  const whole = (name) =>
      parts(name).flatMap((part, i) => [i ? el("wbr") : "", el("span", {class: "whole"}, part)]);
  const letters = (text) => [...text.trimEnd()].length;
  /// Tells a line's style how many letters it has.
  function measure(node, text) {
    node.style.setProperty("--letters", String(letters(text)));
    return node;
  }
  // Pieces longer than this have no place in the margin.
  const kMargin = 20;
  /// Tells the heading that holds it how long the name and its longest piece are.
  function fit(node, name) {
    const longest = Math.max(...parts(name).map(letters));
    node.classList.add("named");
    node.classList.toggle("long", longest > kMargin);
    node.title = name;
    node.style.setProperty("--longest", String(longest));
    return measure(node, name);
  }
  return {whole, fit, measure};
})();

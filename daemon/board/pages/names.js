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
  /// Tells the heading that holds it how long its longest piece is.
  function fit(node, name) {
    node.classList.add("named");
    node.title = name;
    const letters = (text) => [...text.trimEnd()].length;
    node.style.setProperty("--longest", String(Math.max(...parts(name).map(letters))));
    node.style.setProperty("--letters", String(letters(name)));
    return node;
  }
  return {whole, fit};
})();

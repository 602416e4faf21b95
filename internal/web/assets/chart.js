"use strict";
// What the charts share: colours of the theme and numbers of the language.
window.hardcatch = (() => {
  const color = (name) => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
  const axis = (label, lang, more) => Object.assign({
    label, stroke: color("ink"), grid: { stroke: color("hair"), width: 1 }, ticks: { stroke: color("edge"), width: 1 },
    labelSize: 22, font: "13px sans-serif", labelFont: "13px sans-serif", values: (u, v) => v.map((x) => x == null ? "" : number(x, lang)),
  }, more);
  const number = (x, lang) => Number(x.toPrecision(7)).toLocaleString(lang, { maximumFractionDigits: 6, useGrouping: false });
  return { color, axis, number };
})();

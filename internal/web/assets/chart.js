"use strict";
// What the charts share: colours of the theme and numbers of the language.
window.hardcatch = (() => {
  const color = (name) => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
  // All numbers of an axis have the decimals of its step.
  const decimals = (step) => { const n = (String(Number(step.toPrecision(3))).split(".")[1] || "").length; return { minimumFractionDigits: n, maximumFractionDigits: n }; };
  const axis = (label, lang, more) => Object.assign({
    label, stroke: color("ink"), grid: { stroke: color("hair"), width: 1 }, ticks: { stroke: color("edge"), width: 1 },
    labelSize: 22, font: "14px Chivo, sans-serif", labelFont: "14px Chivo, sans-serif", values: (u, v, i, space, step) => v.map((x) => x == null ? "" : x.toLocaleString(lang, { ...decimals(step), useGrouping: false })),
  }, more);
  const number = (x, lang) => Number(x.toPrecision(7)).toLocaleString(lang, { maximumFractionDigits: 6, useGrouping: false });
  return { color, axis, number };
})();

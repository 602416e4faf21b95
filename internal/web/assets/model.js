"use strict";
// What if: sliders ask the server for each fall; the address keeps what was asked.
(() => {
  const form = document.getElementById("fall"), chart = document.getElementById("chart");
  if (!form || !window.uPlot) return;
  const { color, axis, number } = window.hardcatch;
  const lang = form.dataset.lang, $ = (id) => document.getElementById(id);
  let plot = null, asked = 0, busy = false, again = false;
  const fixed = (v, n) => v.toLocaleString(lang, { minimumFractionDigits: n, maximumFractionDigits: n });

  const draw = (a) => {
    const t = a.force_N.map((_, i) => (a.start_s + i / a.rate_Hz) * 1000), f = a.force_N.map((x) => x / 1000);
    if (plot) { plot.setData([t, f]); return; }
    plot = new uPlot({
      width: Math.max(260, chart.clientWidth), height: 300, scales: { x: { time: false } }, series: [
        { label: chart.dataset.lTime, value: (u, v) => v == null ? "–" : fixed(v, 1) + " ms" },
        { label: chart.dataset.lForce, stroke: color("low"), width: 2.5, value: (u, v) => v == null ? "–" : fixed(v, 2) + " kN" }],
      axes: [axis(chart.dataset.lTime, lang), axis(chart.dataset.lForce, lang, { size: 60 })],
    }, [t, f], chart);
  };
  // What was typed in another unit is said in the usual one beside it.
  const beside = (field, value) => {
    const unit = form.querySelector(`[data-for=${field}]`).dataset.unit, typed = $(field).value.replace(/^[\s\d.,+-]+/, "").trim();
    $("si-" + field).textContent = typed === unit ? "" : "= " + number(Number(value.toPrecision(4)), lang) + "\u00a0" + unit;
  };
  const copy = (id) => $(id).content.cloneNode(true);
  const show = (a) => {
    beside("mass", a.asked.mass_kg); beside("fallheight", a.asked.fall_m); beside("length", a.asked.length_m); beside("rigk", a.asked.rig_stiffness_Npm / 1e6);
    $("a-peak").textContent = fixed(a.peak_N / 1000, 1) + "\u00a0kN";
    const o = copy("o-" + a.outcome);
    if (a.broke) o.firstElementChild.append(": " + [...form.elements.material.options, ...form.elements.knot.options].reduce((s, x) => x.value === a.broke ? x.textContent : s, a.broke));
    $("a-outcome").replaceChildren(o);
    $("a-factor").textContent = fixed(a.fall_factor, 2);
    $("a-time").textContent = fixed(a.peak_time_s * 1000, 1) + "\u00a0ms";
    $("a-lowest").textContent = fixed(a.lowest_m, 2) + "\u00a0m";
    const cells = document.querySelectorAll("#limits td.lv");
    a.limits.forEach((l, i) => cells[i] && cells[i].replaceChildren(copy({ exceeds: "v-exceeds", "within reach": "v-within" }[l.verdict] || "v-below")));
    const list = document.querySelector("#model-warnings ul");
    if (list) list.replaceChildren(...a.warnings.map((w) => { const li = document.createElement("li"); li.textContent = w; li.lang = "en"; return li; }));
    draw(a);
  };
  const ask = async () => {
    if (busy) { again = true; return; }
    busy = true;
    const mine = ++asked, q = new URLSearchParams([...new FormData(form)].filter(([, v]) => v !== ""));
    try {
      const r = await fetch("/api/whatif?" + q), a = await r.json(), bad = $("refused");
      bad.hidden = r.ok;
      if (!r.ok) bad.firstElementChild.textContent = a.error;
      else if (mine === asked && $("a-peak")) { show(a); history.replaceState(null, "", "/model?" + q); const m = $("onmap"); if (m) m.href = "/map?" + q; }
      else if ($("a-peak") === null) location.search = q;
    } finally {
      busy = false;
      if (again) { again = false; ask(); }
    }
  };
  for (const slider of form.querySelectorAll("input[type=range]")) {
    const field = $(slider.dataset.for);
    const follow = () => {
      const v = parseFloat(field.value.replace(",", "."));
      const unit = field.value.replace(/^[\s\d.,+-]+/, "").trim();
      if (!Number.isNaN(v) && (unit === slider.dataset.unit || unit === "")) slider.value = v;
      slider.setAttribute("aria-valuetext", field.value);
    };
    slider.hidden = false;
    follow();
    slider.addEventListener("input", () => {
      field.value = `${number(Number(slider.value), lang)} ${slider.dataset.unit}`;
      slider.setAttribute("aria-valuetext", field.value);
      ask();
    });
    field.addEventListener("change", follow);
  }
  form.addEventListener("change", ask);
  form.addEventListener("submit", (e) => { e.preventDefault(); ask(); });
  window.addEventListener("resize", () => plot && plot.setSize({ width: Math.max(260, chart.clientWidth), height: 300 }));
  ask();
})();

"use strict";
// The record of a drop: the server thins the stretch that is looked at to the width of the chart.
(() => {
  const box = document.getElementById("trace");
  if (!box || !window.uPlot) return;
  const { color, axis, number } = window.hardcatch;
  const d = box.dataset, lang = d.lang, forceBox = document.getElementById("chart-force"), motionBox = document.getElementById("chart-motion"), readout = document.getElementById("readout");
  const width = () => Math.max(260, forceBox.clientWidth);
  const words = { taut: d.lTaut, peak: d.lPeak, slack: d.lSlack, break: d.lBreak, "end of record": d.lEnd, "taut again": d.lAgain };
  let whole = null, force = null, motion = null, shown = null, asked = 0, stepped = 0;

  const arrest = () => {
    const t = Number(d.taut), long = Number(d.end);
    return [t - 0.25 * long, t + 1.5 * long];
  };
  const ask = async (from, to) => {
    const mine = ++asked;
    const q = new URLSearchParams({ px: String(Math.min(4000, Math.round(width()))) });
    if (to > from) { q.set("from", from.toFixed(7)); q.set("to", to.toFixed(7)); }
    const r = await fetch(`/api/drops/${encodeURIComponent(d.drop)}/trace?${q}`);
    const a = await r.json();
    if (!r.ok) throw new Error(a.error);
    return mine === asked ? a : null;
  };
  const kilo = (v) => v.map((x) => x === null ? null : x / 1000);
  const milli = (v) => v.map((x) => x === null ? null : x * 1000);
  const cursor = { drag: { x: true, y: false, setScale: false }, sync: { key: "record" }, focus: { prox: 16 } };
  const value = (unit, digits) => (u, v) => v == null ? "–" : v.toLocaleString(lang, { minimumFractionDigits: digits, maximumFractionDigits: digits }) + " " + unit;

  const draw = (a) => {
    const seconds = { label: d.lTime, value: (u, v) => v == null ? "–" : v.toLocaleString(lang, { minimumFractionDigits: 5, maximumFractionDigits: 5 }) + " s" };
    const series = [seconds, { label: d.lRaw, stroke: color("raw"), width: 1, value: value("kN", 3) }];
    const data = [a.t_s, kilo(a.raw_N)];
    if (a.filtered_N.length) {
      series.push({ label: d.lLow, stroke: color("low"), width: 2.5, value: value("kN", 3) });
      data.push(kilo(a.filtered_N));
    }
    const hooks = { setSelect: [picked], draw: [place] };
    if (force) { force.destroy(); motion.destroy(); }
    // The same room on the right as the motion's second axis takes, so that times stand below each other.
    document.body.classList.add("charted"); // the drawing of the same curve is then for paper
    force = new uPlot({ width: width(), height: 330, padding: [null, 82, null, null], cursor, series, hooks, scales: { x: { time: false } }, axes: [axis(d.lTime, lang), axis(d.lForce, lang, { size: 60 })] }, data, forceBox);
    motion = new uPlot({
      width: width(), height: 260, cursor, hooks: { setSelect: [picked] }, scales: { x: { time: false, range: () => [force.scales.x.min, force.scales.x.max] }, v: {} },
      series: [seconds, { label: d.lMoved, stroke: color("low"), width: 2.5, value: value("mm", 1) }, { label: d.lSpeed, stroke: color("break"), width: 2, dash: [8, 4], scale: "v", value: value("m/s", 3) }],
      axes: [axis(d.lTime, lang), axis(d.lMoved, lang, { size: 60 }), axis(d.lSpeed, lang, { scale: "v", side: 1, size: 60, grid: { show: false } })],
    }, [a.t_s, milli(a.moved_m), a.speed_mps], motionBox);
  };

  const picked = (u) => {
    if (u.select.width < 4) return;
    const from = u.posToVal(u.select.left, "x"), to = u.posToVal(u.select.left + u.select.width, "x");
    u.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false);
    show(from, to);
  };

  // Markers of the events. Taut, the peak and the end of the arrest can be dragged; their fields take a typed time as well.
  const fields = ["taut", "peak", "slack"].map((id) => document.getElementById(id)); // in the order of the events
  const typed = (field) => {
    const v = parseFloat(field.value.replace(",", "."));
    return /ms\s*$/.test(field.value) ? v / 1000 : v;
  };
  const place = (u) => {
    for (const m of forceBox.querySelectorAll(".marker")) m.remove();
    if (!shown) return;
    let again = 0;
    shown.events.forEach((e, i) => {
      if (e.kind === "taut again" && again++ > 0) return;
      const field = fields[i], free = !!field;
      let t = e.t_s;
      if (field && field.value && !Number.isNaN(typed(field))) t = typed(field);
      const x = u.valToPos(t, "x");
      if (x < 0 || x > u.over.clientWidth) return;
      const m = document.createElement("div");
      m.className = `marker m${Math.min(i, 3)}` + (free ? "" : " fixed");
      m.style.left = x + "px";
      const s = document.createElement("span");
      s.textContent = words[e.kind] + (e.by_hand ? ` (${d.lHand})` : "");
      m.append(s);
      if (free) drag(m, u, field);
      u.over.append(m);
    });
  };
  const drag = (m, u, field) => {
    m.addEventListener("mousedown", (e) => e.stopPropagation());
    m.addEventListener("pointerdown", (e) => {
      e.preventDefault(); e.stopPropagation();
      m.setPointerCapture(e.pointerId);
      const move = (p) => {
        const x = p.clientX - u.over.getBoundingClientRect().left;
        m.style.left = x + "px";
        field.value = number(Math.round(u.posToVal(x, "x") * 1e5) / 1e5, lang) + " s";
      };
      const drop = () => {
        m.removeEventListener("pointermove", move);
        document.getElementById("hand").open = true;
        field.dispatchEvent(new Event("input", { bubbles: true }));
      };
      m.addEventListener("pointermove", move);
      m.addEventListener("pointerup", drop, { once: true });
      m.addEventListener("pointercancel", drop, { once: true });
    });
  };
  for (const f of fields) f.addEventListener("change", () => force && force.redraw());

  const show = async (from, to, keep = true) => {
    try {
      if (whole && to > from) {
        const least = 4 / whole.rate_Hz;
        if (to - from < least) { const mid = (from + to) / 2; from = mid - least / 2; to = mid + least / 2; }
        const span = Math.min(to - from, whole.last_s - whole.first_s);
        from = Math.max(whole.first_s, Math.min(from, whole.last_s - span)); to = from + span;
      }
      const a = await ask(from, to);
      if (!a) return;
      if (!whole) whole = a;
      shown = a;
      draw(a);
      if (to > from) { force.setScale("x", { min: from, max: to }); motion.setScale("x", { min: from, max: to }); }
      readout.textContent = `${a.samples.toLocaleString(lang)} ${d.lSamples}, ${number(a.rate_Hz, lang)} Hz; ${a.exact ? d.lExact : d.lThinned}`;
      if (keep) {
        const q = new URLSearchParams(location.search);
        q.delete("done");
        if (to > from) { q.set("from", from.toFixed(6)); q.set("to", to.toFixed(6)); } else { q.delete("from"); q.delete("to"); q.set("whole", "yes"); }
        if (to > from) q.delete("whole");
        // The back button leads to the stretch before; steps in quick succession are one.
        const quick = Date.now() - stepped < 1000;
        stepped = Date.now();
        history[quick ? "replaceState" : "pushState"](null, "", location.pathname + (q.size ? "?" + q : ""));
      }
    } catch (e) {
      readout.textContent = `${d.lFailed} ${e.message}`;
    }
  };
  const range = () => [force.scales.x.min, force.scales.x.max];
  const zoom = (factor, at) => {
    const [a, b] = range(), mid = at === undefined ? (a + b) / 2 : at;
    show(mid - (mid - a) * factor, mid + (b - mid) * factor);
  };
  const pan = (part) => { const [a, b] = range(), s = (b - a) * part; show(a + s, b + s); };
  const acts = { in: () => zoom(0.5), out: () => zoom(2), left: () => pan(-0.3), right: () => pan(0.3), arrest: () => show(...arrest()), whole: () => show(0, 0) };
  for (const b of document.querySelectorAll("[data-zoom]")) b.addEventListener("click", () => force && acts[b.dataset.zoom]());
  const byKey = { "+": "in", "=": "in", "-": "out", ArrowLeft: "left", ArrowRight: "right", 0: "whole", a: "arrest" };
  box.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey || !byKey[e.key] || !force) return;
    e.preventDefault(); e.stopPropagation();
    acts[byKey[e.key]]();
  });
  let wheel = 0;
  forceBox.addEventListener("wheel", (e) => {
    // Without focus the wheel scrolls the page.
    if (!force || !box.contains(document.activeElement) || Date.now() - wheel < 60) return;
    e.preventDefault();
    wheel = Date.now();
    zoom(e.deltaY > 0 ? 1.5 : 1 / 1.5, force.posToVal(e.clientX - force.over.getBoundingClientRect().left, "x"));
  }, { passive: false });
  // Shift and drag moves the stretch.
  forceBox.addEventListener("mousedown", (e) => {
    if (!e.shiftKey || !force) return;
    e.preventDefault(); e.stopPropagation();
    const start = e.clientX, [a, b] = range(), per = (b - a) / force.over.clientWidth;
    document.addEventListener("mouseup", (up) => show(a - (up.clientX - start) * per, b - (up.clientX - start) * per), { once: true });
  }, true);
  let resize;
  window.addEventListener("resize", () => { clearTimeout(resize); resize = setTimeout(() => force && show(...range(), false), 200); });

  const addressed = () => {
    const q = new URLSearchParams(location.search);
    if (q.has("from") && q.has("to")) return [Number(q.get("from")), Number(q.get("to"))];
    return q.has("whole") ? [0, 0] : arrest();
  };
  window.addEventListener("popstate", () => { stepped = 0; if (whole) show(...addressed(), false); });
  ask(0, 0).then((a) => { whole = a; return show(...addressed(), false); }).catch((e) => { readout.textContent = `${d.lFailed} ${e.message}`; });
})();

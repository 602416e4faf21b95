"use strict";
// The next drop: force as it comes, the page as it changes, and one key for each order.
(() => {
  const $ = (q, at = document) => at.querySelector(q), body = document.body;
  if (!$("#live")) return;
  const l = document.documentElement.lang;

  // A button that is replaced while it is held down would lose the press, so that what came then waits for the finger.
  let held = false, waiting = null;
  const free = () => setTimeout(() => { held = false; if (waiting) { const text = waiting; waiting = null; put(text); } });
  document.addEventListener("pointerdown", (e) => { held = !!e.target.closest("#live"); });
  document.addEventListener("keydown", (e) => { if (e.key === " " && e.target.tagName === "BUTTON") held = true; });
  for (const end of ["pointerup", "pointercancel", "keyup"]) document.addEventListener(end, free);
  // What came while the user types is put around the field that is typed in.
  const put = (text) => {
    if (held) { waiting = text; return; }
    const page = new DOMParser().parseFromString(text, "text/html"), fresh = $("#live", page);
    if (!fresh) return location.reload();
    const old = $("#live"), active = document.activeElement, id = active && old.contains(active) ? active.id : "";
    if (Number(fresh.dataset.version) < Number(old.dataset.version)) return;
    const typed = [...old.querySelectorAll("input[type=text], select")].map((f) => [f.id, f.value]);
    const same = fresh.dataset.phase === old.dataset.phase, press = active && active.dataset ? active.dataset.press : "";
    const open = same ? [...old.querySelectorAll("details[id][open]")].map((d) => d.id) : [];
    old.replaceWith(document.adoptNode(fresh));
    for (const k of open) { const d = document.getElementById(k); if (d) d.open = true; }
    if (same) for (const [k, v] of typed) { const f = document.getElementById(k); if (f && !f.value) f.value = v; }
    if (!same) { if ($("#big")) $("#big").scrollIntoView({ block: "center" }); else $(".livebar").scrollIntoView({ block: "start" }); }
    window.hardcatchDraft.bring(fresh);
    const to = (id && document.getElementById(id)) || (press && same && $(`[data-press="${press}"]`, fresh));
    if (to) to.focus({ preventScroll: true }); else if (active && !active.isConnected) fresh.focus({ preventScroll: true });
    const alerts = $("#livealerts"), now = $("#livealerts", page);
    if (now && alerts.innerHTML !== now.innerHTML) alerts.replaceChildren(...now.childNodes);
  };
  // Said at once: a page that shows an old force as if it were now misleads.
  const answers = (yes) => {
    const gone = $("#gone");
    if (gone.hidden === yes) return;
    gone.hidden = yes;
    gone.textContent = yes ? "" : gone.dataset.text;
  };
  let asking = false, again = false;
  const obeying = new Set();
  const load = async () => {
    if (asking) { again = true; return; }
    asking = true;
    try { put(await (await fetch("/live")).text()); } catch { answers(false); }
    asking = false;
    if (again) { again = false; load(); }
  };
  document.addEventListener("submit", async (e) => {
    if (!e.target.action.includes("/live/")) return;
    e.preventDefault();
    const data = new URLSearchParams(new FormData(e.target));
    data.set("by", $("#by").value);
    const what = e.target.action + data;
    if (obeying.has(what)) return; // a key pressed twice is one order
    obeying.add(what);
    const field = $("input[type=text]", e.target), text = field && field.value;
    if (field) { field.value = ""; field.blur(); }
    try {
      const r = await fetch(e.target.action, { method: "POST", body: data });
      if (r.ok) window.hardcatchDraft.entered(e.target);
      put(await r.text());
    } catch { answers(false); if (field) field.value = text; }
    obeying.delete(what);
  });

  document.addEventListener("keydown", (e) => {
    if (body.dataset.keys !== "true" || e.ctrlKey || e.metaKey || e.altKey || e.repeat || /^(INPUT|SELECT|TEXTAREA)$/.test(e.target.tagName) || $("dialog[open]")) return;
    const field = { v: "#why", k: "#skipitem", u: "#backwhy" }[e.key];
    let to = field && $(field);
    if (to) { if (to.closest("details")) to.closest("details").open = true; to.focus(); }
    else if (e.key === "Enter" && /^(BUTTON|A|SUMMARY)$/.test(e.target.tagName)) return;
    else if ((to = $(`[data-press="${CSS.escape(e.key)}"], [data-also~="${CSS.escape(e.key)}"]`))) to.click();
    else return;
    e.preventDefault();
    e.stopImmediatePropagation();
  }, true);

  // Twenty seconds of least and largest force.
  const span = 20, past = [];
  let last = null, drawn = false;
  const style = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  // What can be said of the peak before the record is complete stands where the peak will.
  const early = (f) => {
    const said = f !== null && f !== undefined;
    if (!$("#prov")) return;
    if (said) $("#prov").textContent = "≈" + (f / 1000).toLocaleString(l, { minimumFractionDigits: 1, maximumFractionDigits: 1 });
    for (const id of ["#prov", "#provunit", "#provnote"]) $(id).hidden = !said;
    for (const id of ["#armed", "#keepclear"]) $(id).hidden = said;
  };
  // A force that stands still while nothing arrives would be read as the force now.
  const patience = 700; // ms, more for a source so slow that its samples come further apart
  let none = 0;
  const silent = () => { if (last) { last = { ...last, missing: true, none: true }; draw(); } };
  const draw = () => {
    drawn = false;
    if (!last) return;
    const known = !last.unit, scale = known ? 1000 : 1, digits = known ? 2 : 3, state = $("#f-state");
    $("#f-max").textContent = last.missing ? "–" : (last.max_N / scale).toLocaleString(l, { minimumFractionDigits: digits, maximumFractionDigits: digits });
    $("#f-unit").textContent = known ? "kN" : last.unit;
    early(last.provisional_N);
    state.textContent = last.none ? state.dataset.none : last.missing ? state.dataset.missing : state.dataset[last.state] || last.state;
    let top = known ? 1000 : 1e-9, low = 0;
    for (const v of past) if (!v.missing) { top = Math.max(top, v.max_N); low = Math.min(low, v.min_N); }
    const ink = style("--hold"), miss = style("--bad"), hair = style("--edge");
    for (const id of ["#f-bar", "#f-strip"]) {
      const c = $(id), g = c.getContext("2d"), w = c.width, h = c.height;
      g.clearRect(0, 0, w, h);
      g.strokeStyle = hair; g.strokeRect(0.5, 0.5, w - 1, h - 1);
      if (id === "#f-bar") {
        const x = (f) => ((f - low) / (top - low)) * w;
        g.fillStyle = last.missing ? miss : ink;
        g.fillRect(x(Math.min(0, last.min_N)), 3, Math.max(2, x(last.max_N) - x(Math.min(0, last.min_N))), h - 6);
        continue;
      }
      const y = (f) => h - 2 - ((f - low) / (top - low)) * (h - 4);
      for (const v of past) {
        const x = w - ((last.at_s - v.at_s) / span) * w;
        g.fillStyle = v.missing ? miss : ink;
        if (v.missing) g.fillRect(x - 1, 0, 2, h); else g.fillRect(x - 1, y(v.max_N), 2, Math.max(1.5, y(v.min_N) - y(v.max_N)));
      }
    }
  };
  const events = window.hardcatchEvents;
  if (!events) return;
  events.addEventListener("error", () => { silent(); answers(false); });
  events.addEventListener("open", () => answers(true));
  events.addEventListener("live", (e) => { if (JSON.parse(e.data).version > Number($("#live").dataset.version)) load(); });
  events.addEventListener("force", (e) => {
    const v = JSON.parse(e.data);
    if (last && v.at_s < last.at_s) past.length = 0;
    const apart = last ? 3000 * (v.at_s - last.at_s) : 0;
    last = v;
    clearTimeout(none);
    none = setTimeout(silent, Math.max(patience, Math.min(apart, 60000)));
    past.push(v);
    while (past.length && v.at_s - past[0].at_s > span) past.shift();
    if (!drawn) { drawn = true; requestAnimationFrame(draw); }
  });
})();

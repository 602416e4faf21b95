"use strict";
// What every page does: single keys, the notice that the campaign has changed, and keeping who decides.
(() => {
  const body = document.body, $ = (q) => document.querySelector(q);

  // The campaign has changed when its logbook has more entries than the page shows.
  const shown = Number(body.dataset.seq), fresh = $(".fresh");
  if (window.EventSource) {
    const events = new EventSource("/api/events");
    window.hardcatchEvents = events;
    events.addEventListener("head", (e) => { fresh.hidden = body.dataset.page === "live" || JSON.parse(e.data).seq === shown; });
    // A page put away by the browser must not hold a connection.
    window.addEventListener("pagehide", () => events.close());
    window.addEventListener("pageshow", (e) => { if (e.persisted) location.reload(); });
  }
  // A page that answers a form takes the address of the page the form stands on: to reload it or to come back to it
  // enters nothing again.
  if (body.dataset.at) history.replaceState(null, "", body.dataset.at);
  fresh.querySelector("a").href = location.pathname + location.search;

  // Initials typed once stand in every form of the day.
  for (const field of document.querySelectorAll("[data-keep]")) {
    const key = "hardcatch-" + field.dataset.keep;
    if (!field.value || field.id === "by" && sessionStorage.getItem(key)) field.value = sessionStorage.getItem(key) || field.value;
    else sessionStorage.setItem(key, field.value);
    field.addEventListener("input", () => {
      sessionStorage.setItem(key, field.value);
      for (const other of document.querySelectorAll(`[data-keep="${field.dataset.keep}"]`)) other.value = field.value;
    });
    // Entered anew, the name that stands there is replaced by what is typed: nobody signs as two.
    let entered = false;
    field.addEventListener("focus", () => { entered = true; field.select(); });
    field.addEventListener("click", () => { if (entered) field.select(); entered = false; });
    field.addEventListener("keydown", () => { entered = false; });
  }
  // What confirms with one key says who did it, too.
  for (const form of document.querySelectorAll("#confirm")) {
    form.addEventListener("submit", () => {
      if (form.elements.by) return;
      const by = document.createElement("input");
      by.type = "hidden"; by.name = "by"; by.value = sessionStorage.getItem("hardcatch-by") || "";
      form.append(by);
    });
  }

  // What an address points at inside a fold is unfolded.
  const unfold = () => { const d = location.hash && document.getElementById(location.hash.slice(1)); for (let e = d; e; e = e.parentElement) if (e.tagName === "DETAILS") e.open = true; if (d) d.scrollIntoView(); };
  addEventListener("hashchange", unfold);
  unfold();

  const press = (q) => { const e = $(q); if (e) e.click(); return !!e; };
  const choose = (outcome) => {
    const radio = $(`#decide input[value="${outcome}"]`);
    if (!radio) return false;
    radio.checked = true;
    $("#reason").focus();
    return true;
  };
  const line = (step) => {
    const rows = [...document.querySelectorAll("table.drops tbody th a")];
    if (!rows.length) return false;
    const at = rows.indexOf(document.activeElement);
    rows[Math.max(0, Math.min(rows.length - 1, at < 0 ? 0 : at + step))].focus();
    return true;
  };
  const help = () => {
    if (body.dataset.page === "help") return $("#keys-h").scrollIntoView();
    const open = $("#keys-dialog");
    if (open) return open.showModal();
    fetch("/help").then((r) => r.text()).then((text) => {
      const list = new DOMParser().parseFromString(text, "text/html").querySelector("[aria-labelledby=keys-h]");
      const box = document.createElement("dialog");
      box.id = "keys-dialog";
      box.setAttribute("aria-labelledby", "keys-h");
      box.append(...list.children);
      const close = document.createElement("button");
      close.type = "button"; close.className = "main"; close.textContent = "Esc";
      close.addEventListener("click", () => box.close());
      box.append(close);
      body.append(box);
      box.showModal();
    });
  };
  const keys = {
    "?": help, "/": () => { const f = $("#find"); if (f) f.focus(); else location.href = "/drops#find"; },
    r: () => location.reload(), t: () => {
      const all = [...document.querySelectorAll("button[name=theme]")];
      const now = all.findIndex((b) => b.getAttribute("aria-pressed") === "true");
      all[(now + 1) % all.length].click();
    },
    c: () => press("#confirm button"), u: () => { const d = $("#takeback"); if (d) { d.open = true; $("#backwhy").focus(); } return !!d; }, v: () => choose("void"), h: () => choose("held"), b: () => choose("broke"), s: () => choose("slipped"),
    n: () => press("#next"), p: () => press("#prev"), o: () => press("#nextopen"), j: () => line(1), k: () => line(-1),
    f: () => { const f = $("#photo"); if (f) f.focus(); },
    e: () => { const d = $("#hand"); if (d) { d.open = true; $("#taut").focus(); } },
  };
  document.addEventListener("keydown", (e) => {
    if (e.key === "Escape") {
      for (const d of document.querySelectorAll("details.view[open]")) { d.open = false; d.querySelector("summary").focus(); }
      if (/^(INPUT|SELECT|TEXTAREA)$/.test(e.target.tagName)) e.target.blur();
      return;
    }
    if (body.dataset.keys !== "true" || e.ctrlKey || e.metaKey || e.altKey || /^(INPUT|SELECT|TEXTAREA)$/.test(e.target.tagName) || document.querySelector("dialog[open]")) return;
    // The digits are places everywhere but on the tower, where they answer its questions.
    const place = body.dataset.page !== "live" && /^[1-9]$/.test(e.key) && $(`.places a[data-key="${e.key}"]`);
    if (place) { e.preventDefault(); place.click(); return; }
    if (keys[e.key]) { e.preventDefault(); keys[e.key](); }
  });
  if (location.hash === "#find" && $("#find")) $("#find").focus();
})();

"use strict";
// What is typed and not entered yet is kept in this browser: it outlives a reload, a crash of the tab and the program's
// next start, and is said to be kept. It goes when it is entered or discarded.
window.hardcatchDraft = (() => {
  const body = document.body, root = "hardcatch-draft " + body.dataset.campaign + " ", sent = "hardcatch-sent";
  const key = (form) => root + form.dataset.draft;
  const fields = (form) => [...form.elements].filter((f) => f.name && f.type !== "hidden" && f.tagName !== "BUTTON" && f.tagName !== "FIELDSET" && !f.dataset.keep);
  const choice = (f) => f.type === "radio" || f.type === "checkbox";
  const usual = (f) => {
    if (f.tagName !== "SELECT") return f.defaultValue;
    const o = [...f.options].find((x) => x.defaultSelected) || f.options[0];
    return o ? o.value : "";
  };
  const tell = (form, what) => {
    const line = form.querySelector(".draft");
    if (!line) return;
    line.hidden = !what;
    line.firstElementChild.textContent = what ? line.dataset[what] : "";
  };
  const keep = (form) => {
    const typed = {};
    for (const f of fields(form)) {
      if (choice(f)) { if (f.checked && !f.defaultChecked) typed[f.name] = f.value; } else if (f.value !== usual(f)) typed[f.name] = f.value;
    }
    const any = Object.keys(typed).length > 0;
    if (any) localStorage.setItem(key(form), JSON.stringify(typed)); else localStorage.removeItem(key(form));
    tell(form, any ? "kept" : "");
  };
  // Forms that came with typed text of another time get it back.
  const bring = (within) => {
    for (const form of within.querySelectorAll("form[data-draft]")) {
      const text = localStorage.getItem(key(form));
      if (!text) continue;
      const typed = JSON.parse(text);
      let changed = false;
      for (const f of fields(form)) {
        if (!(f.name in typed)) continue;
        if (choice(f)) { if (f.value === typed[f.name] && !f.checked) { f.checked = true; changed = true; } } else if (f.value !== typed[f.name]) { f.value = typed[f.name]; changed = true; }
      }
      if (!changed) continue;
      tell(form, "back");
      const box = form.closest("details");
      if (box) box.open = true;
    }
  };
  const entered = (form) => { if (form.dataset.draft) localStorage.removeItem(key(form)); };

  document.addEventListener("input", (e) => { const form = e.target.form; if (form && form.dataset.draft && !e.target.dataset.keep) keep(form); });
  document.addEventListener("click", (e) => {
    const form = e.target.closest(".draft button") && e.target.form;
    if (!form) return;
    localStorage.removeItem(key(form));
    tell(form, "");
    for (const f of fields(form)) {
      if (choice(f)) f.checked = f.defaultChecked; else f.value = usual(f);
      f.dispatchEvent(new Event("change", { bubbles: true }));
    }
  });
  // A form is entered when the page that answers it says so.
  document.addEventListener("submit", (e) => { const d = e.target.dataset.draft || e.target.dataset.ends; if (d) sessionStorage.setItem(sent, root + d); });
  const was = sessionStorage.getItem(sent);
  sessionStorage.removeItem(sent);
  if (was && body.dataset.done) localStorage.removeItem(was);
  bring(document);
  return { bring, entered };
})();

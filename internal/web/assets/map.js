"use strict";
// The map: a place chosen by a pointer leads to that very fall; without scripts to the middle of the part pointed at.
(() => {
  for (const over of document.querySelectorAll("svg.over")) {
    const d = over.dataset, [, , width, height] = over.getAttribute("viewBox").split(" ").map(Number);
    over.addEventListener("click", (e) => {
      const a = e.target.closest("a");
      if (!a || e.ctrlKey || e.metaKey || e.shiftKey || e.button !== 0) return;
      const box = over.getBoundingClientRect();
      const part = (at, from, size, lo, hi) => Math.min(1, Math.max(0, ((at - from) / size - lo) / (hi - lo)));
      const q = new URLSearchParams(location.search);
      q.set("pointx", part(e.clientX, box.left, box.width / width, Number(d.left), Number(d.right)).toFixed(4));
      q.set("pointy", part(e.clientY, box.top, box.height / height, Number(d.bottom), Number(d.top)).toFixed(4));
      e.preventDefault();
      location.href = "/map/fall?" + q;
    });
  }
})();

"use strict";
// Shows one speed of the sheet at a time; without this all of them stand one after another.
(() => {
  const root = document.documentElement;
  const boxes = [...document.querySelectorAll('input[name="speed"]')];
  const now = document.getElementById("now");
  if (!boxes.length || !now) return;

  const named = () => /^#speed-(\d+)$/.exec(location.hash);

  function choose(number, aloud) {
    const box = boxes.find((other) => other.value === number) || boxes[0];
    box.checked = true;
    for (const other of boxes) {
      document.getElementById("speed-" + other.value).classList.toggle("chosen", other === box);
    }
    for (const link of document.querySelectorAll('#speeds a[href^="#speed-"]')) {
      const here = link.hash === "#speed-" + box.value;
      link.closest("tr").classList.toggle("chosen", here);
      if (here) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
    if (aloud) now.textContent = document.querySelector("#speed-" + box.value + " figcaption").textContent;
  }

  for (const box of boxes) {
    box.addEventListener("change", () => {
      choose(box.value, true);
      try {
        history.replaceState(null, "", "#speed-" + box.value);
      } catch {
        // a reader that keeps no place of a file's page loses nothing else
      }
    });
  }
  addEventListener("hashchange", () => {
    const asked = named();
    if (!asked) return;
    choose(asked[1], true);
    document.getElementById("machine").scrollIntoView();
    boxes.find((box) => box.checked).focus({ preventScroll: true });
  });

  // frames need the keyboard only where they scroll
  const frames = [...document.querySelectorAll('.wide, .drawing')];
  function fit() {
    for (const frame of frames) {
      if (frame.scrollWidth > frame.clientWidth) frame.setAttribute("tabindex", "0");
      else frame.removeAttribute("tabindex");
    }
  }
  addEventListener("resize", fit);

  const asked = named();
  choose(asked ? asked[1] : (boxes.find((box) => box.checked) || boxes[0]).value, false);
  root.classList.add("script");
  fit();
})();

// Tries what is being entered while it is entered, and puts sliders beside fits.
// Everything on these pages works without this file.
"use strict";
(() => {
  const form = document.querySelector("form[data-try]");
  for (const field of document.querySelectorAll("input[data-fit]")) {
    const slider = document.createElement("input");
    slider.type = "range";
    slider.min = "0";
    slider.max = "1";
    slider.step = "0.05";
    slider.value = field.value || "0.5";
    slider.setAttribute("aria-label", field.labels[0] ? field.labels[0].textContent : "fit");
    slider.addEventListener("input", () => {
      field.value = slider.value;
      field.dispatchEvent(new Event("change", { bubbles: true }));
    });
    field.addEventListener("input", () => {
      slider.value = field.value.replace(",", ".");
    });
    field.after(slider);
  }
  const faults = document.querySelector("#faults, #meanwhile");
  if (faults) faults.scrollIntoView();
  if (!form) return;

  const told = document.getElementById("told");
  const shown = document.getElementById("shown");
  const brief = document.getElementById("brief");
  let asked = null;
  let timer = 0;

  const show = (html) => {
    const parts = new DOMParser().parseFromString(html, "text/html").body;
    const more = parts.querySelector("[data-part=more]");
    if (more) more.remove();
    const open = shown.querySelector("details[open]");
    // Taken over only where it differs, so that nothing is read out twice.
    if (told.innerHTML !== parts.innerHTML) told.replaceChildren(...parts.childNodes);
    const first = told.querySelector("li");
    brief.hidden = !first;
    brief.textContent = first ? first.textContent : "";
    shown.replaceChildren(...(more ? [more] : []));
    const details = shown.querySelector("details");
    if (open && details) details.open = true;
  };

  const attempt = async () => {
    if (asked) asked.abort();
    const mine = new AbortController();
    asked = mine;
    const begun = performance.now();
    const fields = new URLSearchParams(new FormData(form));
    fields.set("do", "try");
    fields.set("part", "1");
    try {
      const answer = await fetch(form.getAttribute("action"), {
        method: "POST",
        body: fields,
        signal: mine.signal,
        headers: { Accept: "text/html" },
      });
      const html = await answer.text();
      if (asked !== mine) return;
      if (answer.ok) {
        show(html);
        form.dataset.took = String(Math.round(performance.now() - begun));
      } else {
        told.textContent = html;
      }
    } catch (error) {
      if (error.name !== "AbortError") {
        told.textContent = "The program does not answer. Is it still running? What you entered is still here.";
      }
    } finally {
      if (asked === mine) asked = null;
    }
  };

  const soon = (wait) => {
    clearTimeout(timer);
    timer = setTimeout(attempt, wait);
  };
  // A tap is tried at once; what is typed, when the fingers rest.
  form.addEventListener("change", () => soon(0));
  form.addEventListener("input", (event) => {
    if (event.target.type !== "checkbox" && event.target.type !== "radio") soon(200);
  });
})();

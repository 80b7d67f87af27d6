// What a finger or a keyboard cannot use on the page that is open, as a list of sentences.
const faults = [];
const named = (one) => `${one.tagName.toLowerCase()} "${(one.id || one.textContent || "").trim()}"`;
for (const one of document.querySelectorAll("a[href],button,input:not([type=hidden]),select,textarea,summary")) {
  const box = one.getBoundingClientRect();
  const shown = one.checkVisibility({ visibilityProperty: true }) && box.width > 0;
  if (!shown || one.getAttribute("aria-hidden") === "true" || one.classList.contains("skip")) continue;
  if (Math.min(box.width, box.height) < 44) {
    faults.push(`${named(one)} is ${Math.round(box.width)} by ${Math.round(box.height)}`);
  }
  const field = one.matches("input,select,textarea");
  if (field && !one.labels.length && !one.getAttribute("aria-label")) {
    faults.push(`${named(one)} has no label`);
  }
}
const ids = [...document.querySelectorAll("[id]")].map((one) => one.id);
for (const id of new Set(ids)) {
  if (ids.filter((other) => other === id).length > 1) faults.push(`the name ${id} is there twice`);
}
for (const landmark of ["header", "main", "nav", "footer", "h1", "a.skip"]) {
  if (document.querySelectorAll(landmark).length !== 1) faults.push(`not one ${landmark}`);
}
return faults;

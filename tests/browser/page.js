// What is wrong with the page that is open, as a list of sentences.
const faults = [];
const wide = document.documentElement;
if (wide.scrollWidth > wide.clientWidth) {
  faults.push(`the page is ${wide.scrollWidth} wide in a window of ${wide.clientWidth}`);
}
let level = 0;
for (const heading of document.querySelectorAll("h1,h2,h3,h4,h5,h6")) {
  const own = Number(heading.tagName[1]);
  if (own > level + 1) faults.push(`heading "${heading.textContent}" jumps to level ${own}`);
  level = own;
}
for (const image of document.querySelectorAll("img")) {
  if (!image.alt) faults.push("an image has no text");
}
for (const picture of document.querySelectorAll("svg:not([aria-hidden])")) {
  const words = (picture.getAttribute("aria-labelledby") || "").split(" ")
    .map((id) => (document.getElementById(id) || { textContent: "" }).textContent);
  if (picture.getAttribute("role") !== "img" || words.length < 2 || !words.every(Boolean)) {
    faults.push("a picture has no title or no description");
  }
  const [title] = words;
  const sheet = picture.getBoundingClientRect();
  const texts = [...picture.querySelectorAll("text")].map((text) => [text, text.getBoundingClientRect()]);
  for (let one = 0; one < texts.length; one += 1) {
    const [text, a] = texts[one];
    if (a.left < sheet.left - 1 || a.right > sheet.right + 1 || a.bottom > sheet.bottom + 1) {
      faults.push(`${title}: "${text.textContent}" is cut off`);
    }
    for (const [other, b] of texts.slice(one + 1)) {
      const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      // A box holds the room above and below the letters as well.
      const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (across > 0.5 && down > 0.3 * Math.min(a.height, b.height)) {
        faults.push(`${title}: "${text.textContent}" lies on "${other.textContent}"`);
      }
    }
  }
}
return faults;

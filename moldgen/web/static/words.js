// What scripts of the page say, in the language of the page.

const known = JSON.parse(document.getElementById("start")?.dataset.words || "{}");
const hasComma = document.documentElement.lang !== "en";

// A sentence with its values, such as told("Finding {number}", { number: 3 }).
export function told(english, values = {}) {
  return (known[english] ?? english).replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
}

// A number as it is written here.
export function written(digits) {
  return hasComma ? digits.replace(".", ",") : digits;
}

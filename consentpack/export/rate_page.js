"use strict";
// What works without this: the boxes and buttons of the filter, the links, and opening and closing.
const all = (what, where = document) => [...where.querySelectorAll(what)];
const techniques = all("details.technique");
const find = document.querySelector("#find");
function search() {
  const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
  for (const technique of techniques) {
    const name = technique.querySelector("h2").textContent.toLowerCase();
    let hits = 0;
    for (const item of all("[data-name]", technique)) {
      const text = name + " " + item.dataset.name.toLowerCase();
      const hit = words.every((word) => text.includes(word));
      item.classList.toggle("missed", !hit);
      hits += hit;
    }
    technique.classList.toggle("missed", words.length > 0 && !hits);
    if (words.length && hits) technique.open = true;
  }
  const left = techniques.filter((each) => !each.classList.contains("missed")).length;
  document.querySelector("#found").textContent = words.length ? left + " of " + techniques.length + " techniques" : "";
}
find.addEventListener("input", search);
for (const button of all("button[data-open]"))
  button.addEventListener("click", () => techniques.forEach((each) => { each.open = button.dataset.open === "yes"; }));
document.querySelector("#only").addEventListener("change", (event) => {
  if (event.target.checked) techniques.forEach((each) => { each.open = true; });
});
window.addEventListener("beforeprint", () => techniques.forEach((each) => { each.open = true; }));
all("[hidden]").forEach((each) => { each.hidden = false; });


"use strict";
// On paper all parts are open, in browsers too that do not know it from the style.
addEventListener("beforeprint", () => document.querySelectorAll("details").forEach((part) => (part.open = true)));

// The diary: yes or no for each day, kept on this phone alone. Where nothing can be kept it stays on paper.
(() => {
  const diary = document.querySelector(".diary");
  const key = "diary " + document.body.dataset.reference;
  let answers;
  try {
    answers = JSON.parse(localStorage.getItem(key) || "{}");
    localStorage.setItem(key, JSON.stringify(answers));
  } catch {
    return;
  }
  if (!diary || !diary.querySelector("[data-asked]")) return;
  const words = diary.dataset;
  const made = (name, properties, ...children) => {
    const element = Object.assign(document.createElement(name), properties);
    element.append(...children);
    return element;
  };
  const list = made("ul", {});
  const chosen = made("div", { className: "chosen" }, made("h3", { textContent: words.chosen }), list);
  const clear = made("button", { type: "button", textContent: words.clear });
  chosen.append(clear);
  const shown = { y: words.yes, n: words.no };
  const cells = [...diary.querySelectorAll("[data-asked]")].map((cell) => {
    const row = cell.parentElement;
    // by its words, not its place: a newer version of the page may ask more
    const question = row.querySelector("p, li").textContent.trim();
    const day = cell.dataset.label;
    const id = question + " | " + day;
    const buttons = Object.keys(shown).map((value) =>
      made("button", { type: "button", textContent: shown[value], value })
    );
    const group = made("div", { className: "asked" }, ...buttons);
    group.setAttribute("role", "group");
    group.setAttribute("aria-label", question + " " + day);
    cell.firstElementChild.classList.add("paper");
    cell.append(group);
    for (const button of buttons)
      button.addEventListener("click", () => {
        if (answers[id] === button.value) delete answers[id];
        else answers[id] = button.value;
        keep();
      });
    return { id, question, day, buttons };
  });
  const keep = () => {
    try {
      localStorage.setItem(key, JSON.stringify(answers));
    } catch {
      return;
    }
    show();
  };
  const show = () => {
    list.textContent = "";
    const told = new Map();
    for (const { id, question, day, buttons } of cells) {
      for (const button of buttons) button.setAttribute("aria-pressed", answers[id] === button.value);
      if (answers[id]) told.set(question, [...(told.get(question) || []), day + ": " + shown[answers[id]]]);
    }
    for (const [question, days] of told)
      list.append(made("li", {}, question + " ", made("strong", { textContent: days.join(", ") })));
    chosen.hidden = !told.size;
  };
  clear.addEventListener("click", () => {
    answers = {};
    keep();
  });
  diary.prepend(made("p", { className: "kept", textContent: words.kept }));
  diary.append(chosen);
  show();
})();

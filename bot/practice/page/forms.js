// Forms that the bot shows: a dialog that stays until it is handed in or closed.

import { chosen, menu, text } from "./draw.js";
import { fresh, make } from "./dom.js";

function control(field, id) {
  if (field.kind === "check") return make("input", { id, type: "checkbox", checked: field.value });
  if (field.kind === "picker" || field.kind === "choice") {
    const select = menu(field, field.label);
    select.id = id;
    return select;
  }
  if (field.kind === "long") {
    const area = make("textarea", { id, rows: 4, placeholder: field.example });
    area.value = field.value;
    return area;
  }
  return make("input", { id, type: "text", value: field.value, placeholder: field.example });
}

function value(field, element) {
  if (field.kind === "check") return element.checked;
  if (field.kind === "picker") return chosen(element);
  return element.value;
}

export function show(form, send) {
  const dialog = document.getElementById("form");
  const trouble = make("p", { class: "trouble", role: "alert", hidden: true });
  const controls = [];
  const rows = form.fields.map((field) => {
    if (field.kind === "text") return text(field.blocks);
    const id = fresh("field");
    const element = control(field, id);
    controls.push([field, element]);
    const label = make("label", { for: id }, field.label, field.required ? make("span", {}, " needed") : null);
    return make("div", { class: "field" }, label, element, field.hint ? make("small", {}, field.hint) : null);
  });
  const inner = make(
    "form",
    { novalidate: true },
    make("h2", { id: "form-title" }, form.title),
    ...rows,
    trouble,
    make(
      "div",
      { class: "row" },
      make("button", { type: "submit", class: "main" }, "Hand in"),
      make("button", { type: "button", class: "plain", onclick: () => dialog.close() }, "Close"),
    ),
  );
  inner.addEventListener("submit", async (event) => {
    event.preventDefault();
    const values = Object.fromEntries(controls.map(([field, element]) => [field.id, value(field, element)]));
    const problem = await send({ number: form.number, values });
    trouble.textContent = problem ?? "";
    trouble.hidden = !problem;
    if (!problem) dialog.close();
  });
  dialog.replaceChildren(inner);
  if (!dialog.open) dialog.showModal();
}

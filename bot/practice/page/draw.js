// Messages as elements. What the bot wrote arrives as plain blocks and parts; nothing in it is taken for HTML.

import { fresh, make } from "./dom.js";

const TAGS = { strong: "strong", em: "em", code: "code" };
const SHAPES = { heading: "h3", small: "p", quote: "blockquote", line: "p", gap: "div" };

function span(part) {
  if (part.style === "link") {
    return make("a", { href: part.address, target: "_blank", rel: "noopener noreferrer" }, part.text);
  }
  if (part.style === "" ) return document.createTextNode(part.text);
  return make(TAGS[part.style] ?? "span", { class: TAGS[part.style] ? null : part.style }, part.text);
}

export function text(blocks) {
  const box = make("div", { class: "text", id: fresh("text") });
  let list = null;
  for (const block of blocks) {
    if (block.kind === "item") {
      if (list === null) box.append((list = make("ul")));
      list.append(make("li", {}, ...block.spans.map(span)));
      continue;
    }
    list = null;
    box.append(make(SHAPES[block.kind] ?? "p", { class: block.kind }, ...block.spans.map(span)));
  }
  return box;
}

function button(part, message, act) {
  if (part.address) {
    return make("a", { class: "button", href: part.address, target: "_blank", rel: "noopener noreferrer" }, part.label);
  }
  return make(
    "button",
    {
      type: "button",
      class: part.tone,
      disabled: part.off,
      onclick: () => act("press", { message: message.id, button: part.id }),
    },
    part.label,
  );
}

export function menu(part, label) {
  const many = part.most > 1;
  const options = part.options.map((option) =>
    make("option", { value: option.value, selected: option.chosen }, option.hint ? `${option.label}: ${option.hint}` : option.label),
  );
  if (!many) options.unshift(make("option", { value: "" }, part.prompt));
  return make("select", { multiple: many, size: many ? Math.min(options.length, 6) : null, "aria-label": label }, ...options);
}

export function chosen(select) {
  return [...select.selectedOptions].map((option) => option.value).filter((value) => value !== "");
}

function picker(part, message, act) {
  const select = menu(part, part.prompt);
  const go = make(
    "button",
    {
      type: "button",
      class: "plain",
      disabled: part.off,
      onclick: () => {
        if (chosen(select).length < part.least) select.focus();
        else act("choose", { message: message.id, menu: part.id, values: chosen(select) });
      },
    },
    "Choose",
  );
  return make("div", { class: "picker" }, select, go);
}

function pictures(part) {
  const shown = part.pictures.map((picture) =>
    make("img", { src: `/picture?${new URLSearchParams({ address: picture.address })}`, alt: picture.words, loading: "lazy" }),
  );
  return make("div", { class: "pictures" }, ...shown);
}

function parts(list, message, act) {
  const drawn = [];
  for (const part of list) {
    const element = one(part, message, act);
    if (part.kind === "row" && drawn.at(-1)?.classList.contains("text")) {
      element.setAttribute("aria-labelledby", drawn.at(-1).id);
    }
    drawn.push(element);
  }
  return drawn;
}

function one(part, message, act) {
  const inside = () => parts(part.parts, message, act);
  switch (part.kind) {
    case "text":
      return text(part.blocks);
    case "frame": {
      const frame = make("div", { class: "frame" }, ...inside());
      if (part.colour) frame.style.setProperty("--edge", part.colour);
      return frame;
    }
    case "row":
      return make("div", { class: "row", role: "group" }, ...inside());
    case "section":
      return make("div", { class: "section" }, make("div", {}, ...inside()), ...parts(part.beside, message, act));
    case "button":
      return button(part, message, act);
    case "picker":
      return picker(part, message, act);
    case "pictures":
      return pictures(part);
    case "file": {
      const href = `/file?${new URLSearchParams({ address: part.address })}`;
      return make("p", { class: "attached" }, make("a", { href, download: part.name }, `Save ${part.name}`));
    }
    default:
      return make("hr");
  }
}

export function message(found, act) {
  const head = make(
    "p",
    { class: "head" },
    make("strong", {}, found.author),
    found.asked ? make("span", { class: "asked" }, `answers /${found.asked}`) : null,
    found.private ? make("span", { class: "private" }, "only you see this") : null,
    make("span", { class: "when" }, found.time),
  );
  return make(
    "article",
    { class: `${found.bot ? "bot" : "person"}${found.private ? " aside-note" : ""}`, "data-id": found.id },
    head,
    found.blocks.length ? text(found.blocks) : null,
    ...parts(found.parts, found, act),
  );
}

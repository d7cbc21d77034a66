// A text field with a list of suggestions: arrows move, Enter or a tap takes one, Escape closes the list.

import { fresh, make } from "./dom.js";

export class Combo {
  // offer(typed) resolves to [{name, value, hint}]; taken(choice) is told what was taken.
  constructor(input, offer, taken, wait = 0) {
    this.input = input;
    this.offer = offer;
    this.taken = taken;
    this.wait = wait;
    this.choices = [];
    this.at = -1;
    this.turn = 0;
    this.list = make("ul", { class: "offers", role: "listbox", id: fresh("offers"), hidden: true });
    input.setAttribute("role", "combobox");
    input.setAttribute("aria-expanded", "false");
    input.setAttribute("aria-autocomplete", "list");
    input.setAttribute("aria-controls", this.list.id);
    input.after(this.list);
    input.addEventListener("input", () => this.look());
    input.addEventListener("focus", () => this.look());
    input.addEventListener("blur", () => this.close());
    input.addEventListener("keydown", (event) => this.key(event));
    this.list.addEventListener("pointerdown", (event) => event.preventDefault());
    this.list.addEventListener("click", (event) => {
      const item = event.target.closest("li");
      if (item) this.take(this.choices[[...this.list.children].indexOf(item)]);
    });
  }

  async look() {
    const turn = ++this.turn;
    if (this.wait) await new Promise((done) => setTimeout(done, this.wait));
    if (turn !== this.turn) return;
    let found = [];
    try {
      found = await this.offer(this.input.value);
    } catch {
      found = [];
    }
    if (turn === this.turn && document.activeElement === this.input) this.show(found);
  }

  show(choices) {
    this.choices = choices;
    this.at = -1;
    this.list.replaceChildren(
      ...choices.map((choice) =>
        make(
          "li",
          { role: "option", id: fresh("offer"), "aria-selected": "false" },
          make("span", {}, choice.name),
          choice.hint ? make("small", {}, choice.hint) : null,
        ),
      ),
    );
    this.list.hidden = choices.length === 0;
    if (choices.length) this.list.scrollIntoView({ block: "nearest" });
    this.input.setAttribute("aria-expanded", String(choices.length > 0));
    this.input.removeAttribute("aria-activedescendant");
  }

  get open() {
    return !this.list.hidden;
  }

  close() {
    this.turn += 1;
    this.show([]);
  }

  mark(at) {
    const items = [...this.list.children];
    this.at = (at + items.length) % items.length;
    items.forEach((item, index) => item.setAttribute("aria-selected", String(index === this.at)));
    items[this.at].scrollIntoView({ block: "nearest" });
    this.input.setAttribute("aria-activedescendant", items[this.at].id);
  }

  take(choice) {
    this.close();
    this.taken(choice);
  }

  key(event) {
    if (!this.open || event.isComposing) return;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      this.mark(event.key === "ArrowDown" ? this.at + 1 : Math.max(this.at, 0) - 1);
    } else if (event.key === "Enter" && this.at >= 0) {
      event.preventDefault();
      this.take(this.choices[this.at]);
    } else if (event.key === "Tab" && this.at >= 0) {
      this.take(this.choices[this.at]);
    } else if (event.key === "Escape") {
      event.preventDefault();
      this.close();
    }
  }
}

// The command line: "/" lists commands, a whole command opens its options, anything else is a plain message.
// Options may be typed or pasted too, as `/command option:value other:more words`.

import { packed, post } from "./api.js";
import { Combo } from "./combo.js";
import { fresh, make } from "./dom.js";

const SOON = 120;

export class Composer {
  // place() tells who sits where; act(path, body) sends and resolves to true when it worked.
  // complain(sentence) says what is wrong with the line.
  constructor(place, act, complain) {
    this.place = place;
    this.act = act;
    this.complain = complain;
    this.commands = [];
    this.command = null;
    this.problem = null;
    this.fields = [];
    this.form = document.getElementById("composer");
    this.words = document.getElementById("words");
    this.options = document.getElementById("options");
    this.combo = new Combo(this.words, async (typed) => this.matching(typed), (choice) => this.begin(choice.value));
    this.words.addEventListener("input", () => this.follow());
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.send();
    });
    this.form.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && !event.defaultPrevented && this.command) this.clear();
    });
  }

  // The commands come after the page is drawn, and anew with every change of place: a line may be begun by then.
  know(commands) {
    this.commands = commands;
    if (this.command && !commands.some((known) => known.name === this.command.name)) {
      this.clear();
    } else if (!this.command) {
      this.follow();
      this.combo.look();
    }
  }

  matching(typed) {
    if (!typed.startsWith("/")) return [];
    const wanted = typed.slice(1).trimStart().toLowerCase();
    if (this.typed().command) return [];
    const starts = this.commands.filter((known) => known.name.startsWith(wanted));
    const found = starts.length ? starts : this.commands.filter((known) => known.name.includes(wanted.trim()));
    return found.map((known) => ({ name: `/${known.name}`, value: known.name, hint: known.does }));
  }

  begin(name) {
    this.words.value = `/${name}`;
    this.follow();
    (this.fields[0]?.input ?? this.words).focus();
  }

  // The command that the line begins with, and what follows it.
  typed() {
    const line = this.words.value.trim().replace(/\s+/g, " ");
    const begins = (known) => `${line} `.startsWith(`/${known.name} `);
    const [command = null] = this.commands.filter(begins).sort((one, other) => other.name.length - one.name.length);
    return { command, rest: command ? line.slice(command.name.length + 1).trim() : "" };
  }

  follow() {
    const { command, rest } = this.typed();
    if (command !== this.command) this.open(command);
    this.problem = command ? this.fill(rest) : null;
  }

  // Puts what was typed behind the command into its fields; returns what fits nowhere, in words, or null.
  fill(rest) {
    const known = this.fields.filter((field) => field.option.kind !== "file");
    const needed = known.filter((field) => field.option.needed);
    const names = known.map((field) => field.option.name).join("|");
    const [stray, ...pairs] = names ? rest.split(new RegExp(`(?:^|\\s)(${names}):`)) : [rest];
    const values = Object.fromEntries(pairs.flatMap((name, at) => (at % 2 ? [] : [[name, pairs[at + 1].trim()]])));
    if (stray.trim() && needed.length !== 1) {
      const options = known.map((field) => field.option.name).join(", ") || "none";
      return `“${stray.trim()}” is no option of /${this.command.name}; write option:value. Its options: ${options}.`;
    }
    if (stray.trim()) values[needed[0].option.name] = stray.trim();
    for (const field of known) {
      const value = values[field.option.name];
      if (value !== undefined && !this.put(field, value)) {
        const choices = [...field.input.options].filter((choice) => choice.value).map((choice) => choice.text).join(", ");
        return `${field.option.name}: “${value}” is none of ${choices}.`;
      }
    }
    return null;
  }

  put(field, value) {
    field.taken = null;
    if (field.input.tagName !== "SELECT") {
      field.input.value = value;
      return true;
    }
    const same = (text) => text.toLowerCase() === value.toLowerCase();
    const chosen = [...field.input.options].find((choice) => same(choice.value) || same(choice.text));
    field.input.value = chosen?.value ?? "";
    return Boolean(chosen);
  }

  open(command) {
    this.command = command;
    this.fields = [];
    this.options.replaceChildren();
    this.options.hidden = !command || command.options.length === 0;
    if (!command) return;
    const needed = command.options.filter((option) => option.needed).map((option) => this.field(option));
    const others = command.options.filter((option) => !option.needed).map((option) => this.field(option));
    this.options.append(make("legend", {}, `/${command.name} `, make("span", {}, command.does)));
    this.options.append(...needed);
    if (others.length) {
      const title = needed.length ? `${others.length} more, if you like` : `${others.length} options, all optional`;
      const more = make("details", { open: needed.length === 0 }, make("summary", {}, title));
      more.append(make("div", { class: "more" }, ...others));
      this.options.append(more);
    }
  }

  field(option) {
    const id = fresh("option");
    const hint = make("small", { id: `${id}-hint` }, option.hint);
    const common = { id, name: option.name, "aria-describedby": hint.id, "aria-required": option.needed ? "true" : null };
    const label = make("label", { for: id }, option.name, option.needed ? make("span", {}, " needed") : null);
    const choices = this.fixed(option);
    const input = choices
      ? make("select", common, make("option", { value: "" }, "–"), ...choices)
      : make("input", { ...common, type: option.kind === "file" ? "file" : "text", inputmode: option.kind === "whole" ? "numeric" : option.kind === "number" ? "decimal" : null });
    const field = { option, input, taken: null };
    const box = make("div", { class: "field" }, label, input, hint);
    if (option.suggests) this.suggesting(field);
    this.fields.push(field);
    return box;
  }

  fixed(option) {
    const some = option.kind === "yesno" ? [{ name: "yes", value: "yes" }, { name: "no", value: "no" }] : option.choices;
    return some.length ? some.map((choice) => make("option", { value: choice.value }, choice.name)) : null;
  }

  suggesting(field) {
    const offer = (typed) =>
      post("/suggest", {
        ...this.place(),
        command: this.command.name,
        option: field.option.name,
        typed: field.taken ? "" : typed,
        options: this.values(field),
      });
    new Combo(field.input, offer, (choice) => {
      field.input.value = choice.name;
      field.taken = choice;
    }, SOON);
    field.input.addEventListener("input", () => {
      field.taken = null;
    });
  }

  values(except) {
    const filled = this.fields.filter(
      (field) => field !== except && field.option.kind !== "file" && field.input.value.trim() !== "",
    );
    return Object.fromEntries(filled.map((field) => [field.option.name, field.taken?.value ?? field.input.value]));
  }

  async files() {
    const chosen = this.fields.filter((field) => field.option.kind === "file" && field.input.files.length);
    return Object.fromEntries(
      await Promise.all(chosen.map(async (field) => [field.option.name, await packed(field.input.files[0])])),
    );
  }

  async send() {
    const typed = this.words.value.trim();
    if (this.problem) {
      this.complain(this.problem);
    } else if (this.command) {
      const empty = this.fields.find((field) => field.option.needed && field.input.value.trim() === "");
      if (empty && document.activeElement === this.words) {
        empty.input.focus();
        return;
      }
      const options = { ...this.values(null), ...(await this.files()) };
      if (await this.act("command", { command: this.command.name, options })) this.clear();
    } else if (typed.startsWith("/")) {
      if (await this.act("command", { command: typed.slice(1).trim(), options: {} })) this.clear();
    } else if (typed) {
      if (await this.act("say", { text: typed })) this.clear();
    }
  }

  clear() {
    this.words.value = "";
    this.problem = null;
    this.open(null);
    this.combo.close();
    this.words.focus();
  }
}

// The page: who looks, where, and what time it is. One action at a time; while it runs, everything else waits.

import { get, post } from "./api.js";
import { Composer } from "./compose.js";
import { make } from "./dom.js";
import { message } from "./draw.js";
import * as forms from "./forms.js";

const DIRECT = "direct";
const state = { who: null, room: null, view: null, seen: new Map(), busy: false };
const at = (id) => document.getElementById(id);
const wakeWords = (wake) => (wake ? `The bot looks again ${wake}.` : "Nothing is planned.");
const place = () => ({ who: state.who, room: state.room });
const roomName = (key) => (key === DIRECT ? "direct messages" : `# ${key}`);
const composer = new Composer(place, act, (sentence) => say(sentence, true));

function say(sentence, trouble = false) {
  at("word").textContent = sentence ?? "";
  at("word").className = trouble ? "trouble" : "";
  at("word").hidden = !sentence;
}

function wait(busy) {
  state.busy = busy;
  document.body.toggleAttribute("data-busy", busy);
  at("feed").setAttribute("aria-busy", String(busy));
}

// Sends one action; resolves to a problem in words, or to null.
async function attempt(path, body) {
  if (state.busy) return "One thing at a time: the last one is still running.";
  wait(true);
  try {
    const answer = await post(`/${path}`, { ...place(), ...body });
    show(answer.view);
    say(answer.note);
    if (answer.form) forms.show(answer.form, (filled) => attempt("fill", filled));
    return null;
  } catch (problem) {
    return problem.message;
  } finally {
    wait(false);
  }
}

async function act(path, body) {
  const problem = await attempt(path, body);
  if (problem) say(problem, true);
  return !problem;
}

async function go(who, room) {
  try {
    const view = await get("/view", { who, room });
    state.who = who;
    state.room = room;
    show(view);
    composer.know(await get("/commands", place()));
    say(null);
  } catch (problem) {
    say(problem.message, true);
  }
}

function news(who, room, newest) {
  return newest !== "0" && state.seen.get(`${who}/${room}`) !== newest;
}

function drawPeople(view) {
  at("people").replaceChildren(
    ...view.people.map((person) => {
      const fresh = person.name !== view.who && news(person.name, DIRECT, person.newest);
      return make(
        "button",
        {
          type: "button",
          class: "person-choice",
          "aria-pressed": String(person.name === view.who),
          onclick: () => go(person.name, person.rooms.includes(state.room) ? state.room : person.rooms[0]),
        },
        make("strong", {}, person.name),
        make("small", {}, person.leads ? "leads" : "keeper"),
        fresh ? make("span", { class: "dot", role: "img", "aria-label": "new messages" }) : null,
      );
    }),
  );
}

function drawRooms(view) {
  at("rooms").replaceChildren(
    ...view.rooms.map((room) =>
      make(
        "button",
        {
          type: "button",
          "data-room": room.key,
          "aria-current": room.key === view.room ? "page" : null,
          onclick: () => go(state.who, room.key),
        },
        roomName(room.key),
        room.key !== view.room && news(view.who, room.key, room.newest)
          ? make("span", { class: "dot", role: "img", "aria-label": "new messages" })
          : null,
      ),
    ),
  );
}

function drawFeed(view) {
  const feed = at("feed");
  const before = new Set([...feed.querySelectorAll("article")].map((article) => article.dataset.id));
  const same = state.view && state.view.who === view.who && state.view.room === view.room;
  const top = feed.scrollTop;
  const held = heldControl(feed);
  feed.replaceChildren(...view.messages.map((found) => message(found, act)));
  if (!view.messages.length) feed.append(make("p", { class: "empty" }, "Nothing here yet."));
  const added = view.messages.find((found) => !before.has(found.id));
  if (!same) feed.scrollTop = feed.scrollHeight;
  else if (added) feed.querySelector(`[data-id="${added.id}"]`).scrollIntoView({ block: "start" });
  else feed.scrollTop = top;
  if (held) holdAgain(feed, held);
}

const CONTROLS = "button, select, a";

// Where the keyboard is, so that an answered message does not lose it.
function heldControl(feed) {
  const article = feed.contains(document.activeElement) && document.activeElement.closest("article");
  if (!article) return null;
  return { id: article.dataset.id, index: [...article.querySelectorAll(CONTROLS)].indexOf(document.activeElement) };
}

function holdAgain(feed, held) {
  const controls = feed.querySelectorAll(`[data-id="${held.id}"] :is(${CONTROLS})`);
  (controls[Math.min(held.index, controls.length - 1)] ?? feed).focus({ preventScroll: true });
}

function show(view) {
  const here = view.rooms.find((room) => room.key === view.room);
  state.seen.set(`${view.who}/${view.room}`, here.newest);
  at("server").textContent = view.server;
  at("day").textContent = view.day;
  at("time").textContent = view.time;
  at("wake").textContent = `${view.zone}. Time stands still until you move it. ${wakeWords(view.wake)}`;
  at("topic").textContent = here.topic || `Between ${view.who} and the bot alone. Reminders arrive here.`;
  drawPeople(view);
  drawRooms(view);
  drawFeed(view);
  state.view = view;
}

for (const step of document.querySelectorAll(".steps button")) {
  step.addEventListener("click", () => {
    if (!state.busy) say("Time passes…");
    act("move", step.dataset.to ? { to: step.dataset.to } : { seconds: Number(step.dataset.seconds) });
  });
}
window.addEventListener("focus", () => {
  if (state.who && !state.busy) get("/view", place()).then(show, () => {});
});

const start = await get("/start", {}).catch((problem) => say(problem.message, true));
if (start) await go(start.who, start.room);

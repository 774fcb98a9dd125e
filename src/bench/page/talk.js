/* These functions ask the server of this bench: one function per question, with errors in the words of the server. */

const turnsMost = 40, turnPause = 250; /* ms between two questions for a drawing */
const token = new URLSearchParams(location.search).get("token") || "";

export class Refused extends Error {
  constructor(status, message, key) {
    super(message);
    this.status = status;
    this.key = key || null;
  }
}

async function ask(method, path, {json, bytes, headers, signal} = {}) {
  const options = {method, signal, headers: {"Bench-Token": token, ...headers}};
  if (json !== undefined) {
    options.headers["Content-Type"] = "application/json";
    options.body = JSON.stringify(json);
  } else if (bytes !== undefined) {
    options.headers["Content-Type"] = "application/octet-stream";
    options.body = bytes;
  }
  let answer;
  try {
    answer = await fetch(`/api/${path}`, options);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused(0, "The bench does not answer: start `strutpress bench` again in this folder and open the link it prints.");
  }
  if (answer.ok) return answer;
  const said = await answer.json().then((body) => body.error, () => null);
  throw new Refused(answer.status, said?.message || `The bench refused this (status ${answer.status}).`, said?.key);
}

const json = async (...question) => (await ask(...question)).json();
const enc = encodeURIComponent;

export const rows = () => json("GET", "rows");
/* While other coupons are drawn the question waits and is asked again. */
export async function look(values, signal) {
  for (let turn = 0; ; turn++) {
    try {
      return await json("POST", "look", {json: {values}, signal});
    } catch (error) {
      if (error.status !== 429 || turn === turnsMost) throw error;
    }
    await new Promise((resolve) => setTimeout(resolve, turnPause));
    signal?.throwIfAborted();
  }
}

export const press = (values, name) => json("POST", "presses", {json: {values, name}});
export const pressPlan = (name) => json("POST", "presses", {json: {plan: name}});
export const presses = () => json("GET", "presses");
export const pressFrom = (id, from) => json("GET", `presses/${enc(id)}?from=${from}`);
export const pressAgain = (id) => ask("POST", `presses/${enc(id)}/again`);
export const stopPress = (id) => ask("POST", `presses/${enc(id)}/stop`);
/* `known` is the state of an earlier answer for the same figures: while the state has not changed, nothing else is sent. */
export const shelf = (figures, known = "") => json("GET", `shelf?figures=${enc(figures.join(","))}&curves=80&known=${enc(known)}`);
export const coupon = (key) => json("GET", `shelf/${enc(key)}`);
export const stateAt = (key, mode, value) => json("GET", `shelf/${enc(key)}/states?${mode}=${value}`);
export const rig = (file) => json("POST", "rig", {bytes: file, headers: {"Bench-Name": enc(file.name)}});
export const seek = (values, target) => json("POST", "seeks", {json: {values, target}});
export const seekFile = (name) => json("POST", "seeks", {json: {file: name}});
export const seekNow = (id) => json("GET", `seeks/${enc(id)}`);
export const stopSeek = (id) => ask("POST", `seeks/${enc(id)}/stop`);
export const files = () => json("GET", "files");
export const fileValues = (name) => json("GET", `files/${enc(name)}?as=values`);
export const save = (what) => json("POST", "files", {json: what});

/* A link cannot send a header: the address carries the token, as that of the page does. */
export const meshLink = (key, format) => `/api/shelf/${enc(key)}/mesh?format=${format}&token=${enc(token)}`;
export const reportLink = () => `/api/report?token=${enc(token)}`;

/* Ask again and again, `pause` ms after each answer; `run` gives the next pause. The pause is longer while nobody looks. */
export function repeat(run) {
  let timer = 0, running = false, again = false;
  const turn = async () => {
    if (running) {
      again = true;
      return;
    }
    clearTimeout(timer);
    running = true;
    let pause = 2000;
    try { pause = await run(); } finally {
      running = false;
      timer = setTimeout(turn, again ? 0 : document.hidden ? 4 * pause : pause);
      again = false;
    }
  };
  return turn;
}

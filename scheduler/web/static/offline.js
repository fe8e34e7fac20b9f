// Keeps what is ticked and measured without a network on this phone, and sends it when there is one. The page works without.
"use strict";

(() => {
  const own = document.currentScript.dataset;
  const page = own.page;
  const name = "pondround" + page;
  const QUEUED = own.queued.split(" ");
  // House value: so long an answer may take before a form counts as not sent yet, in milliseconds.
  const PATIENCE = 10000;
  const sending = new Set();
  const channel = "BroadcastChannel" in self ? new BroadcastChannel(name) : null;
  let passing = null;
  let again = 0;
  let network = location.hash === "#no-network" ? "unanswered" : "";
  let ready = false;

  // --- what is kept on the phone ---

  function opened() {
    const asked = indexedDB.open(name, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("queue", { keyPath: "id" });
      asked.result.createObjectStore("choice");
    };
    return new Promise((resolve, reject) => {
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = asked.onblocked = () => reject(asked.error);
    });
  }

  async function kept(table, mode, work) {
    const base = await opened();
    const change = base.transaction(table, mode);
    const asked = work(change.objectStore(table));
    return new Promise((resolve, reject) => {
      change.oncomplete = () => resolve(asked.result);
      change.onerror = change.onabort = () => reject(change.error);
    }).finally(() => base.close());
  }

  const put = item => kept("queue", "readwrite", queue => queue.put(item));
  const drop = item => kept("queue", "readwrite", queue => queue.delete(item.id));
  const queued = async () => (await kept("queue", "readonly", queue => queue.getAll())).sort((a, b) => a.order - b.order);

  // --- what is sent ---

  async function send(item, late) {
    const body = new URLSearchParams(item.fields);
    body.set("queued", item.id);
    if (late) body.set("late", "yes");
    const answer = await fetch(`${page}/${item.part}`, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE) });
    const told = await answer.json().catch(() => ({}));
    const ended = answer.status === 404 && !answer.headers.has("Retry-After");
    const later = answer.status >= 500 || [404, 408, 429].includes(answer.status);
    return { ok: answer.ok, status: answer.status, ended, later, told, wait: Number(answer.headers.get("Retry-After")) };
  }

  // The queue is also tried when nothing says that there is a network again. House value: after a minute.
  function retry(seconds) {
    clearTimeout(again);
    again = setTimeout(flush, 1000 * Math.min(Math.max(seconds, 1), 60));
  }

  // Sends what waits, one after the other, in one tab at a time.
  async function flush() {
    clearTimeout(again);
    const turn = () => sendAll().catch(() => {});
    if (navigator.locks) await navigator.locks.request(name, { ifAvailable: true }, lock => lock && turn());
    else await turn();
  }

  async function sendAll() {
    let sent = 0;
    for (const item of (await queued()).filter(one => one.state === "waiting" && !sending.has(one.id))) {
      let answer;
      try {
        answer = await send(item, true);
      } catch {
        network = "none";
        retry(60);
        break;
      }
      network = "";
      if (answer.ended) return ended();
      if (answer.later) {
        network = "slow";
        retry(answer.wait || 5);
        break;
      }
      if (answer.ok) sent += 1;
      if (answer.ok && !answer.told.said) await drop(item);
      else {
        const said = answer.told.said || `The server did not take it (${answer.status}).`;
        await put({ ...item, state: answer.ok ? "told" : "refused", said, doubt: Boolean(answer.told.doubt) });
      }
      await show();
    }
    await changed();
    if (sent && !(await queued()).some(one => one.state === "waiting")) renew("What was kept here is sent.");
  }

  // The link was revoked: nothing of it stays here. What was not sent is told once, to be written on paper.
  async function ended() {
    const lost = (await queued()).filter(one => one.state !== "told").map(one => `${one.what}, ${one.said_day}`);
    await give_up();
    indexedDB.deleteDatabase(name);
    if (!lost.length) return location.replace(page);
    const told = `This link has ended. Write on paper what was not sent, and tell whoever gave you the link: ${lost.join("; ")}.`;
    document.getElementById("main").replaceChildren(make("p", { role: "alert" }, told));
  }

  async function give_up() {
    const there = "serviceWorker" in navigator ? await navigator.serviceWorker.getRegistration(page) : undefined;
    if (there && new URL(there.scope).pathname === page) await there.unregister();
    if ("caches" in self) await caches.delete(name);
  }

  // --- the forms ---

  const part_of = form => (form.getAttribute("action") || "").replace(page + "/", "");

  const jobs_of = fields => {
    const of = new Map(fields);
    const many = fields.map(([key]) => key).filter(key => key.startsWith("job/"));
    return of.has("key") ? [`job/${of.get("enclosure")}/${of.get("key")}/${of.get("variant")}`] : many;
  };

  // What a form says, for people: of which job or tank, and what was typed.
  function what_of(form, submitter) {
    const press = submitter || form.querySelector("button");
    const typed = [...form.elements].filter(e => e.matches("input:not([type]), textarea, select, :checked") && e.value && e.value !== "today");
    const values = typed.map(e => {
      const label = e.labels && e.labels.length && e.labels[0].querySelector("bdi");
      const text = e.matches("select") ? e.selectedOptions[0].textContent : e.matches(":checked") ? "" : e.value;
      return `${label ? label.textContent : ""} ${text}`.trim();
    });
    const of = press.querySelector(".unseen");
    return [of ? of.textContent.trim() : "", ...values].filter(Boolean).join(", ").slice(0, 400) || press.textContent.trim();
  }

  async function take(form, submitter) {
    const fields = [...new FormData(form, submitter)].map(([key, value]) => [key, String(value)]);
    const item = {
      id: crypto.randomUUID(), part: part_of(form), fields, what: what_of(form, submitter), said_day: own.said, order: Date.now(),
      state: "waiting", said: "", doubt: false,
    };
    sending.add(item.id);
    let answer = null;
    try {
      await put(item);
      say("Sending.");
      answer = await send(item, false).catch(() => null);
      if (answer && answer.ended) return await ended();
      if (answer && !answer.later) await drop(item);
    } catch {
      // Nothing can be kept here: it is sent as without this script.
      answer = answer || { ok: false };
    } finally {
      sending.delete(item.id);
    }
    if (answer && answer.ok && answer.told.go) return go(answer.told.go);
    if (answer && answer.ok) return renew(answer.told.said || "It is recorded.");
    if (answer && !answer.later) {
      passing = form;
      return form.requestSubmit(submitter);
    }
    network = answer ? "slow" : "none";
    retry(answer ? answer.wait || 5 : 60);
    delete form.dataset.sending;
    if (item.part.startsWith("reading")) form.reset();
    await changed();
    const mark = document.querySelector(`[data-mark="${item.id}"]`);
    (mark || status).focus();
  }

  document.addEventListener("submit", event => {
    const form = event.target;
    if (passing === form || !ready || !QUEUED.includes(part_of(form))) return;
    event.preventDefault();
    if (form.dataset.sending) return;
    form.dataset.sending = "yes";
    take(form, event.submitter);
  });

  function go(where) {
    const to = new URL(where, location.href);
    const same = to.pathname === location.pathname && to.search === location.search;
    location.assign(to.href);
    // Else only the place in the page would change.
    if (same) location.reload();
  }

  // --- what the page says ---

  const status = document.getElementById("unsent-said");
  const say = text => status.textContent !== text && (status.textContent = text);

  function make(tag, attributes, ...inside) {
    const made = document.createElement(tag);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    made.append(...inside);
    return made;
  }

  function button(text, item, act) {
    const made = make("button", { type: "button", class: "small" }, text, make("span", { class: "unseen" }, ` ${item.what}`));
    made.addEventListener("click", act);
    return made;
  }

  const discard = item => drop(item).then(changed);

  function line(item) {
    const sure = { ...item, fields: [...item.fields, ["sure", "yes"]], state: "waiting", said: "", doubt: false };
    return make("li", {}, make("span", {}, `${item.what}, ${item.said_day}. ${item.said}`),
      ...(item.doubt ? [button("It is right: send it", item, () => put(sure).then(flush))] : []),
      button(item.state === "told" ? "Seen" : "Throw away", item, () => discard(item)));
  }

  const hide_buttons = (form, hidden) => form.querySelectorAll("button").forEach(one => { one.hidden = hidden; });

  // Where a job was done and is not sent yet, its row says so instead of asking for it again.
  function mark(items) {
    for (const old of document.querySelectorAll("[data-mark]")) {
      hide_buttons(old.previousElementSibling, false);
      old.remove();
    }
    const waiting = items.filter(one => one.state === "waiting" && one.part.endsWith("done"));
    for (const form of document.querySelectorAll("form")) {
      const jobs = part_of(form).endsWith("done") ? jobs_of([...new FormData(form)]) : [];
      const by = jobs.map(job => waiting.find(one => jobs_of(one.fields).includes(job)));
      if (!jobs.length || by.includes(undefined)) continue;
      const made = make("p", { class: "gone", "data-mark": by[0].id, tabindex: "-1" }, "Done, not sent yet. ", button("take back", by[0], () => discard(by[0])));
      hide_buttons(form, true);
      form.after(made);
    }
  }

  async function show() {
    const items = await queued();
    const number = state => items.filter(one => one.state === state).length;
    const counts = [
      [number("waiting"), "not sent yet"], [number("refused"), "not taken"], [number("told"), "done by others already"],
    ].filter(([many]) => many).map(([many, what]) => `${many} ${what}.`);
    const none = `No network: this page is as it was on ${own.said}. What you record counts for that day, and is sent when there is a network.`;
    const unanswered = "There was no answer: that needs a network. Look whether it was recorded once there is one.";
    const why = { none, unanswered, slow: "The record cannot be reached; it is tried again.", old: "There is a newer page: open it anew." }[network];
    say([...counts, why].filter(Boolean).join(" "));
    document.getElementById("unsent-list").replaceChildren(...items.map(line));
    mark(items);
  }

  async function changed() {
    await show();
    if (channel) channel.postMessage("changed");
  }

  // Opens the page anew, but not under somebody who writes.
  function renew(text) {
    const typed = e => (e.matches("select") ? [...e.options].some(o => o.selected !== o.defaultSelected && e.value !== e.options[0].value) : e.value !== e.defaultValue);
    if ([...document.querySelectorAll("input:not([type=hidden]), textarea, select")].some(typed)) return say(`${text} Open the page anew.`);
    return location.replace(page);
  }

  // --- the switch ---

  async function keep() {
    await navigator.serviceWorker.register(`${page}/sw.js`, { scope: page, updateViaCache: "none" });
    const cache = await caches.open(name);
    const parts = [...document.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src]")];
    const wanted = [page, ...parts.map(e => new URL(e.href || e.src).pathname)];
    const there = (await cache.keys()).map(one => new URL(one.url).pathname);
    await Promise.all(there.filter(one => !wanted.includes(one)).map(one => cache.delete(one)));
    await Promise.all(wanted.filter(one => !there.includes(one)).map(one => cache.add(one).catch(() => {})));
  }

  function show_switch(on) {
    const place = document.getElementById("keep-switch");
    place.setAttribute("aria-checked", String(on));
    place.lastElementChild.textContent = on ? ": on" : ": off";
    const kept_here = "Keeps this page with its secret address on this phone: it opens without a network, for whoever has the phone.";
    const not_here = "This page is not kept on this phone: it opens where there is a network.";
    document.getElementById("keep-said").textContent = on ? kept_here : not_here;
    document.getElementById("keep").hidden = false;
  }

  async function turn(on) {
    await kept("choice", "readwrite", choice => choice.put(on ? "on" : "off", "keep"));
    await (on ? keep() : give_up());
    show_switch(on);
  }

  // --- when the page opens ---

  async function look() {
    try {
      const answer = await fetch(`${page}/stand`, { signal: AbortSignal.timeout(PATIENCE) });
      if (answer.status === 404 && !answer.headers.has("Retry-After")) return ended();
      const now = answer.ok ? await answer.json() : null;
      network = !now ? "slow" : now.day !== own.day || now.seen !== own.seen ? "old" : "";
    } catch {
      network = "none";
    }
    await show();
    return flush();
  }

  async function begin() {
    // A window that keeps nothing, as private ones may, has a page as without this script.
    const choice = await kept("choice", "readonly", table => table.get("keep"));
    ready = true;
    self.addEventListener("online", look);
    self.addEventListener("pageshow", event => event.persisted && location.reload());
    if (channel) channel.addEventListener("message", show);
    if ("serviceWorker" in navigator && "caches" in self) {
      const on = choice !== "off";
      document.getElementById("keep-switch").addEventListener("click", event =>
        turn(event.currentTarget.getAttribute("aria-checked") !== "true").catch(() => {}));
      if (on) await keep().then(() => show_switch(true), () => {});
      else show_switch(false);
    }
    await (network ? show() : look());
  }

  begin().catch(() => {});
})();

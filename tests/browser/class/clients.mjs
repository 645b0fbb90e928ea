// A class without browsers: a panel whose pupils have benches of their own, and WebSocket clients that speak as the page does.
import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { after } from 'node:test';
import { ws as WebSocket } from 'playwright-core/lib/utilsBundle';
import { guard_ms } from '../support.mjs';

const program = process.env.DRYBUS_PROGRAM;
const source = process.env.DRYBUS_SOURCE;

const running = new Set();
after(() => { for (const child of running) child.kill('SIGINT'); });

// `drybus panel --listen`; the links, by role, as cookies.
export async function startClass(what, options = []) {
  const child = spawn(program, ['panel', join(source, 'scenarios', what), '--port', '0', '--listen', '127.0.0.1', ...options]);
  running.add(child);
  let told = '';
  const links = await new Promise((resolve, reject) => {
    const hear = (data) => {
      told += data;
      const lead = told.match(/you lead (http:\/\/\S+)/)?.[1];
      if (lead) resolve({ trainer: lead, pupil: told.match(/join at (http:\/\/\S+)/)[1], onlooker: told.match(/onlookers at (http:\/\/\S+)/)[1] });
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.on('exit', (code) => reject(new Error(`drybus panel ended with ${code}: ${told}`)));
  });
  const { host } = new URL(links.trainer);
  const cookies = {};
  for (const [role, link] of Object.entries(links)) {
    const answer = await fetch(link, { redirect: 'manual' });
    [cookies[role]] = answer.headers.get('set-cookie').split(';');
  }
  return {
    join: (role, key = '') => new Client(`ws://${host}/socket${key ? `?seat=${key}` : ''}`, cookies[role]),
    links,
    memory_mb: () => Number(readFileSync(`/proc/${child.pid}/status`, 'utf8').match(/VmRSS:\s+(\d+)/)[1]) / 1024,
    stop: () => new Promise((resolve) => { running.delete(child); child.on('exit', resolve); child.kill('SIGINT'); }),
  };
}

export class Client {
  state = null;
  messages = [];
  #ref = 0;
  #answers = new Map();
  #watchers = new Set();

  constructor(url, cookie) {
    this.socket = new WebSocket(url, { headers: { Cookie: cookie }, origin: `http://${new URL(url).host}`, perMessageDeflate: false });
    this.socket.on('message', (data) => this.#take(JSON.parse(data)));
    this.closed = new Promise((resolve) => {
      this.socket.on('close', (code, reason) => resolve({ code, reason: String(reason) }));
      this.socket.on('error', () => {});
    });
    this.ready = Promise.race([this.until(() => this.state !== null || this.shelf), this.closed.then(({ code, reason }) => {
      throw new Error(`${code} ${reason}`);
    })]);
    this.ready.catch(() => {});
  }

  #take(message) {
    if (message.type === 'hello') this.hello = message;
    if (message.type === 'shelf') this.shelf = message;
    if (message.type === 'class') this.class = message;
    if (message.type === 'where') this.where = message;
    if (message.type === 'state') this.state = message;
    if (message.type === 'changed' && this.state) {
      Object.assign(this.state.devices, message.devices);
      for (const key of ['clock', 'people', 'pause']) if (key in message) this.state[key] = message[key];
    }
    const answer = this.#answers.get(message.ref);
    if (answer) {
      this.#answers.delete(message.ref);
      answer(message);
    }
    for (const watcher of this.#watchers) watcher(message);
  }

  // What the server answers, also where it refuses.
  ask(message) {
    const ref = ++this.#ref;
    return new Promise((resolve) => {
      this.#answers.set(ref, resolve);
      this.socket.send(JSON.stringify({ ...message, ref }));
    });
  }

  until(condition, most_ms = guard_ms) {
    return new Promise((resolve, reject) => {
      if (condition()) return resolve(performance.now());
      const timer = setTimeout(() => { this.#watchers.delete(look); reject(new Error(`never so: ${condition}`)); }, most_ms).unref();
      const look = () => {
        if (!condition()) return;
        clearTimeout(timer);
        this.#watchers.delete(look);
        resolve(performance.now());
      };
      this.#watchers.add(look);
      return undefined;
    });
  }

  close() {
    this.socket.close();
    return this.closed;
  }
}

export const pause = (ms) => new Promise((resolve) => { setTimeout(resolve, ms); });

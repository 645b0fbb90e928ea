// The page: joins the line to the server, the bench as the page knows it, and the views; draws frame by frame.
import { Announcer, sayings } from './announcer.js';
import { Areas } from './areas.js';
import { Bench } from './bench.js';
import { BranchesView } from './branches_view.js';
import { BusView } from './bus_view.js';
import { ClassView } from './class_view.js';
import { Connection } from './connection.js';
import { Curtain } from './curtain.js';
import { Demonstration } from './demonstration.js';
import { Desk } from './desk.js';
import { DoingView } from './doing_view.js';
import { element } from './element.js';
import { FindingsView } from './findings_view.js';
import { FlashLimiter } from './flash_limiter.js';
import { LargeSite } from './large_site.js';
import { LessonCard } from './lesson_card.js';
import { branchName, findingName } from './names.js';
import { Notices } from './notices.js';
import { tellPage } from './page_words.js';
import { save } from './saving.js';
import { Shortcuts } from './shortcuts.js';
import { ShelfView } from './shelf_view.js';
import { SideBySide } from './side_by_side.js';
import { SimulatedClock } from './simulated_clock.js';
import { SiteView } from './site_view.js';
import { StoryView } from './story_view.js';
import { startTheme } from './theme.js';
import { TimelineView } from './timeline_view.js';
import { Transport } from './transport.js';
import { ViewersView } from './viewers_view.js';
import { Wall } from './wall.js';
import { WhereBar } from './where_bar.js';
import { language, tr } from './words.js';

const find = (id) => document.getElementById(id);
const calm = matchMedia('(prefers-reduced-motion: reduce)');

const socketAddress = () => `${location.protocol === 'https:' ? 'wss' : 'ws'}://${location.host}/socket`;

class Panel {
  constructor() {
    tellPage(document, language);
    this.bench = new Bench();
    this.clock = new SimulatedClock();
    this.limiter = new FlashLimiter();
    this.areas = new Areas(this.limiter);
    this.curtain = new Curtain();
    this.connection = new Connection(socketAddress());
    this.announcer = new Announcer(find('announcer'));
    this.notices = new Notices(find('notices'));
    this.desk = new Desk(this.connection, this.bench, this.clock, (words) => this.announcer.say(words));
    this.classView = new ClassView(this.desk);
    this.large = new LargeSite(this.desk);
    this.shelf = new ShelfView(this.desk);
    this.where = new WhereBar(this.desk);
    this.wall = new Wall(find('wall'));
    find('band').replaceWith(this.wall.node);
    find('where').replaceWith(this.where.node);
    find('shelf').replaceWith(this.shelf.node);
    this.knownFindings = new Set();
    this.#listen();
    this.#bindHeader();
    this.connection.open();
    requestAnimationFrame((at) => this.#frame(at));
  }

  #listen() {
    this.connection.addEventListener('message', ({ detail }) => {
      this.#take(detail);
    });
    this.connection.addEventListener('line', ({ detail: { up, reason } }) => {
      find('line').hidden = up;
      find('line').textContent = up ? '' : reason ? tr('No line to drybus: {reason}. Trying again.', { reason }) : tr('No line to drybus. Trying again.');
    });
    this.bench.addEventListener('hello', () => this.#build());
    this.bench.addEventListener('replaced', ({ real_ms }) => this.#replaced(real_ms));
    this.bench.addEventListener('changed', ({ detail, real_ms }) => this.#changed(detail, real_ms));
    this.desk.addEventListener('complaint', ({ detail }) => this.notices.show(detail, 'complaint'));
    this.desk.addEventListener('notice', ({ detail }) => this.notices.show(detail, 'notice'));
    this.desk.addEventListener('beside', ({ detail }) => this.#layBeside(detail));
    this.curtain.addEventListener('moved', () => this.#tellCurtain());
  }

  #take(message) {
    switch (message.type) {
      case 'notice': return this.notices.show(message.text, 'complaint');
      case 'class': return this.classView.take(message, performance.now());
      case 'where': return this.where.take(message, this.bench.hello.you.role === 'trainer');
      case 'shelf': return this.shelf.show(message);
      case 'lesson': return this.lesson?.tell(message);
      default: return this.bench.take(message, performance.now());
    }
  }

  #bindHeader() {
    const toggleTheme = startTheme(find('theme'));
    find('curtain').addEventListener('click', () => this.desk.moveCurtain());
    find('demo').addEventListener('click', () => this.desk.demonstrate());
    find('save').addEventListener('click', () => save(this.desk));
    const shortcuts = new Shortcuts([
      { key: 'k', words: tr('play or pause'), run: () => this.desk.playOrPause() },
      { key: '.', words: tr('one event on'), run: () => this.desk.do({ do: 'step' }) },
      { key: 'j', words: tr('to the next time-out'), run: () => this.desk.do({ do: 'jump' }) },
      { key: '[', words: tr('slower'), run: () => this.desk.slower() },
      { key: ']', words: tr('faster'), run: () => this.desk.faster() },
      { key: ',', words: tr('ten seconds back'), run: () => this.desk.back(10) },
      { key: 'b', words: tr('branch from here'), run: () => this.desk.branch() },
      { key: 'c', words: tr('curtain'), run: () => this.desk.moveCurtain() },
      { key: 'd', words: tr('play the script as a demonstration'), run: () => this.desk.demonstrate() },
      { key: 'w', words: tr('wall: large, for a class to read'), run: () => this.wall.set(!this.wall.on) },
      { key: 's', words: tr('save as a scenario'), run: () => save(this.desk) },
      { key: 't', words: tr('dark room or paper'), run: toggleTheme },
      { key: '?', words: tr('this list'), run: () => shortcuts.help() },
    ]);
    find('help').addEventListener('click', () => shortcuts.help());
  }

  // The views of this scenario; after a lost line the page is built anew.
  #build() {
    const { hello } = this.bench;
    this.shelf.hide();
    this.large.begin(hello);
    if (hello.in_parts && !hello.part) { // nothing of it is here yet
      this.site = null;
      return;
    }
    document.title = `${hello.scenario.title} – drybus`;
    find('title').textContent = hello.scenario.title;
    this.areas.forget('');
    this.site = new SiteView(hello, { desk: this.desk, areas: this.areas });
    this.doing = new DoingView(this.desk);
    this.bus = new BusView(hello, this.desk);
    this.timeline = new TimelineView(hello, this.desk);
    this.findings = new FindingsView(this.desk);
    this.story = new StoryView(this.desk);
    this.branches = new BranchesView(this.desk);
    this.beside = new SideBySide(this.desk, this.areas);
    this.demonstration = new Demonstration(this.desk);
    this.transport = new Transport(this.desk);
    this.viewers = new ViewersView(this.desk);
    this.atWork = element('h2', { class: 'at-work visually-hidden' });
    find('site').replaceChildren(this.atWork, this.site.node);
    find('beside').replaceChildren(this.beside.node);
    find('doing').replaceChildren(this.doing.node);
    find('bus').replaceChildren(this.bus.node);
    document.body.classList.toggle('many', hello.plates.length + hello.modules.length > 12);
    this.lesson = hello.lesson ? new LessonCard(this.desk) : null;
    document.body.classList.toggle('in-lesson', hello.lesson === true);
    find('aside').replaceChildren(...[this.lesson?.node, this.classView.node, this.large.node].filter(Boolean), this.viewers.node, this.demonstration.node, this.findings.node, this.branches.node, this.story.node);
    find('timeline').replaceChildren(this.timeline.node);
    find('transport').replaceChildren(this.transport.node);
  }

  #replaced(real_ms) {
    const { state } = this.bench;
    this.large.look(state);
    if (!this.site) return;
    this.knownFindings = new Set(state.findings.map(({ key }) => key));
    this.curtain.set(state.curtain_drawn);
    if (this.bench.hello.you.role === 'onlooker' && !this.wallChosen) this.wall.set(true);
    this.wallChosen = true;
    this.wall.again();
    this.site.update(state);
    this.viewers.changed(state.viewers);
    this.lesson?.begin();
    this.#told(real_ms);
    document.body.classList.add('ready');
  }

  #changed(message, real_ms) {
    const { state } = this.bench;
    if (!this.site) return undefined;
    this.large.look(state);
    if (message.viewers) return this.viewers.changed(message.viewers);
    if (message.devices) this.site.update({ ...state, devices: message.devices });
    this.site.state = state;
    for (const words of sayings(message, this.knownFindings)) this.announcer.say(words);
    for (const { key } of message.findings ?? []) this.knownFindings.add(key);
    return this.#told(real_ms);
  }

  #told(real_ms) {
    const { state } = this.bench;
    this.clock.set({ ...state.clock }, real_ms);
    this.bus.update(state);
    this.transport.changed(state.clock, this.curtain.isDrawn);
    if (state.clock.full && !this.toldFull) this.desk.complain(tr('The bench is full. Save, or go back in time.'));
    this.toldFull = state.clock.full;
  }

  #tellBranch({ real_ms }, { name, findings }) {
    const words = findings.length > 0 ? tr('out of step: {findings}', { findings: findings.map(findingName).join(', ') }) : '';
    this.areas.showSlowly('at work', name + words, real_ms, () =>
      this.atWork.replaceChildren(branchName(name), ' ', element('span', { class: 'outcome revealed' }, words)));
  }

  #layBeside(branch) {
    this.beside.show(branch);
    document.body.classList.toggle('side-by-side', branch !== null);
    this.atWork.classList.toggle('visually-hidden', branch === null);
  }

  #tellCurtain() {
    const { isDrawn } = this.curtain;
    find('curtain').setAttribute('aria-pressed', String(isDrawn));
    this.announcer.say(isDrawn ? tr('The curtain is drawn: what nobody can see is hidden.') : tr('The curtain is open.'));
  }

  #frame(real_ms) {
    requestAnimationFrame((at) => this.#frame(at));
    const { state, hello } = this.bench;
    if (!state || !this.site || this.shelf.shown) return;
    const { playing, speed } = this.clock;
    // While the clock stands nothing blinks; the branch beside stands always.
    const still = this.limiter.plan(playing ? this.site.wants(speed) : [], real_ms);
    const frame = { areas: this.areas, now_s: this.clock.now_s(real_ms), real_ms, speed, playing, still,
      motion: !calm.matches };
    this.doing.draw(frame, state.people, hello);
    this.site.draw(frame);
    this.wall.draw(frame, { state, site: this.site, lesson: this.lesson });
    this.bus.draw(frame);
    this.transport.draw(frame);
    this.lesson?.draw(frame);
    this.classView.draw(frame);
    this.timeline.draw(frame, state);
    this.branches.draw(frame, state, this.beside.branch);
    this.#tellBranch(frame, state.branches.find(({ id }) => id === state.branch));
    this.demonstration.draw(frame, state.pause);
    this.findings.draw(frame, state.findings);
    this.story.draw(frame, state.timeline);
    this.beside.draw(frame);
  }
}

window.drybusPanel = new Panel();

// Gapless switching between states of one guitar at one position.
//
// Every state is a voice: its sound runs all the time from one start on one clock, and only gains move (a linear
// crossfade of 8 ms). The sum of the gains of two voices is the level at every instant, so switching between two equal
// states changes nothing. The same Run plays to the loudspeaker and, for proof, into an OfflineAudioContext.
// A sound is fetched and decoded when it is first needed; what is held decoded is bounded (BUDGET).

const FADE = 0.008; // s
const LEAD = 0.03; // s between asking for a start and its first sample
const BUDGET = 384 * 1024 * 1024; // bytes of decoded sound
const LOWEST_DB = -50;
const SCREEN_MS = 50; // between updates of text on the screen

// The samples from frame `from` to `to`, the end blended over 8 ms into what stands before `from`: it loops clean.
function loopOf(context, sound, from, to) {
  const length = to - from;
  const out = context.createBuffer(sound.numberOfChannels, length, sound.sampleRate);
  const fade = Math.min(Math.round(FADE * sound.sampleRate), length >> 1);
  for (let c = 0; c < sound.numberOfChannels; c++) {
    const all = sound.getChannelData(c);
    const piece = all.slice(from, to);
    for (let i = 0; i < fade; i++) {
      const share = (i + 1) / fade;
      const before = from - fade + i;
      const at = length - fade + i;
      piece[at] = piece[at] * (1 - share) + (before >= 0 ? all[before] : 0) * share;
    }
    out.copyToChannel(piece, c);
  }
  return out;
}

// All voices from one start; gains alone choose what is heard.
class Run {
  constructor(context, output, { startFrame, frame, margin }) {
    this.context = context;
    this.margin = margin; // s, least time between asking for a voice and its first sample
    this.rate = context.sampleRate;
    this.startFrame = startFrame; // on the context's clock
    this.frame = frame; // of the loop, at that moment
    this.voices = new Map();
    this.chosen = null;
    this.out = context.createGain();
    this.out.connect(output);
  }

  fadeIn() {
    const start = this.startFrame / this.rate;
    this.out.gain.setValueAtTime(0, start);
    this.out.gain.linearRampToValueAtTime(1, start + FADE);
  }

  // Frame of the loop at a frame of the clock.
  at(clockFrame, length) {
    return (this.frame + Math.max(0, clockFrame - this.startFrame)) % length;
  }

  // A voice that comes late joins at the place where the others are.
  add(key, buffer, level) {
    if (this.voices.has(key)) return;
    const first = Math.max(this.startFrame, Math.ceil((this.context.currentTime + this.margin) * this.rate));
    const gain = this.context.createGain();
    const source = this.context.createBufferSource();
    source.buffer = buffer;
    source.loop = true;
    source.connect(gain);
    gain.connect(this.out);
    const value = key === this.chosen ? level : 0;
    gain.gain.setValueAtTime(value, 0);
    source.start(first / this.rate, this.at(first, buffer.length) / this.rate);
    this.voices.set(key, { source, gain, level, from: value, to: value, begin: 0, end: 0, ready: first / this.rate });
  }

  has(key) {
    return this.voices.has(key);
  }

  choose(key, time) {
    this.chosen = key;
    let at = time;
    const wanted = this.voices.get(key);
    if (wanted) at = Math.max(at, wanted.ready); // a late voice sounds before the old one goes
    for (const [name, voice] of this.voices) this._glide(voice, name === key ? voice.level : 0, at);
  }

  setLevel(key, level, time) {
    const voice = this.voices.get(key);
    if (!voice || voice.level === level) return;
    voice.level = level;
    if (key === this.chosen) this._glide(voice, level, time);
  }

  remove(key) {
    const voice = this.voices.get(key);
    if (!voice) return;
    this.voices.delete(key);
    voice.source.stop();
    voice.source.disconnect();
    voice.gain.disconnect();
  }

  _glide(voice, target, at) {
    if (voice.to === target) return;
    const share = voice.end > voice.begin ? (at - voice.begin) / (voice.end - voice.begin) : 1;
    const here = share >= 1 ? voice.to : voice.from + (voice.to - voice.from) * Math.max(0, share);
    const gain = voice.gain.gain;
    gain.cancelScheduledValues(at);
    if (share < 1) gain.linearRampToValueAtTime(here, at); // the part of the old line up to here stays
    else gain.setValueAtTime(here, at);
    gain.linearRampToValueAtTime(target, at + FADE);
    Object.assign(voice, { from: here, to: target, begin: at, end: at + FADE });
  }

  stop() {
    const now = this.context.currentTime;
    this.out.gain.cancelScheduledValues(now);
    this.out.gain.setValueAtTime(1, now);
    this.out.gain.linearRampToValueAtTime(0, now + FADE);
    for (const voice of this.voices.values()) voice.source.stop(now + FADE + 0.01);
    setTimeout(() => this.out.disconnect(), 200);
  }
}

const CSS = `
.pp-player{display:grid;gap:12px;min-width:0}
.pp-player .pp-row{display:flex;flex-wrap:wrap;gap:8px 18px;align-items:center}
.pp-player button{font:inherit;color:inherit;background:var(--card,transparent);border:1px solid var(--soft,#777);border-radius:6px;
  padding:7px 12px;min-height:40px;cursor:pointer;text-align:left}
.pp-player button:hover:not(:disabled){border-color:var(--accent,#0b567f)}
.pp-player button:disabled{opacity:.55;cursor:default}
.pp-player :focus-visible{outline:3px solid var(--accent,#0b567f);outline-offset:2px}
.pp-player .pp-go{min-width:92px;text-align:center;font-weight:600}
.pp-player .pp-states{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,230px),1fr));gap:8px}
.pp-player .pp-states button{display:grid;grid-template-columns:auto 1fr;column-gap:9px;align-content:start;width:100%}
.pp-player [aria-checked=true]{border-color:var(--accent,#0b567f);box-shadow:inset 0 0 0 1px var(--accent,#0b567f);background:var(--mark,#eee)}
.pp-player .pp-key{font:600 .85em ui-monospace,"DejaVu Sans Mono",monospace;border:1px solid var(--soft,#777);border-radius:4px;
  padding:0 6px;align-self:start}
.pp-player .pp-row>span{display:inline-flex;flex-wrap:wrap;gap:6px;align-items:center}
.pp-player .pp-note{grid-column:2;font-size:.85em;color:var(--soft,#555)}
.pp-player canvas{width:100%;height:96px;display:block;border:1px solid var(--rule,#ccc);border-radius:6px;background:var(--card,transparent);
  touch-action:pan-y;cursor:crosshair}
.pp-player label,.pp-player .pp-label{font-size:.9em;color:var(--soft,#555)}
.pp-player input[type=number]{font:inherit;width:5.6em;padding:5px 6px;border:1px solid var(--soft,#777);border-radius:5px;
  background:var(--card,transparent);color:inherit;margin:0 4px}
.pp-player input[type=range]{width:150px;vertical-align:middle;accent-color:var(--accent,#0b567f)}
.pp-player .pp-row>.pp-two{gap:0;flex-wrap:nowrap}
.pp-player .pp-two button{border-radius:0;margin-left:-1px;padding:5px 12px}
.pp-player .pp-two button:first-child{border-radius:6px 0 0 6px;margin-left:0}.pp-player .pp-two button:last-child{border-radius:0 6px 6px 0}
.pp-player .pp-time,.pp-player .pp-peak{font-variant-numeric:tabular-nums;white-space:nowrap}
.pp-player .pp-peak{min-width:17em}
.pp-player .pp-clip{color:var(--bad,#a03a12);font-weight:600}
.pp-player p{margin:0;font-size:.9em;color:var(--soft,#555);max-width:80ch}
`;

export default {
  template: `
<div class="pp-player" role="group" :aria-label="label">
  <div class="pp-row">
    <button type="button" class="pp-go" @click="toggle" :disabled="!ready.length && !playing">
      {{ playing ? "Pause" : "Play" }}</button>
    <span class="pp-time">{{ seconds(shownPosition) }} of {{ seconds(duration) }} s</span>
    <span class="pp-peak" :class="{ 'pp-clip': clipped }" v-if="!blind">{{ peakText }}</span>
  </div>
  <div class="pp-states" role="radiogroup" :aria-label="label + ': state that is heard'" @keydown="arrows">
    <button v-for="(one, n) in states" :key="one.key" type="button" role="radio" :data-key="one.key"
      :aria-checked="one.key === current ? 'true' : 'false'" :tabindex="one.key === current ? 0 : -1"
      :disabled="!soundOf(one)" @click="choose(one.key)">
      <span class="pp-key" aria-hidden="true">{{ n + 1 }}</span><span>{{ one.name }}</span>
      <span class="pp-note" v-if="noteOf(one)">{{ noteOf(one) }}</span>
    </button>
  </div>
  <canvas ref="canvas" v-show="!blind" tabindex="0" role="slider" :aria-label="label + ': position'" aria-valuemin="0" :aria-valuemax="duration"
    :aria-valuenow="Math.round(shownPosition * 10) / 10" :aria-valuetext="seconds(shownPosition) + ' seconds'"
    @pointerdown="dragBegin" @pointermove="dragMove" @pointerup="dragEnd" @pointercancel="drag = null" @keydown="seekKeys"></canvas>
  <div class="pp-row">
    <span v-show="!blind"><label>Loop from <input type="number" min="0" :max="duration" step="0.1" ref="from" @change="typed(0, $event)"></label>
    <label>to <input type="number" min="0" :max="duration" step="0.1" ref="to" @change="typed(1, $event)"> s </label>
    <button type="button" @click="setLoop(0, duration)" :disabled="whole">Whole</button></span>
    <span class="pp-two" role="radiogroup" aria-label="Loudness" v-if="!blind">
      <button type="button" role="radio" v-for="one in [['aligned', 'Equally loud'], ['true', 'True level']]" :key="one[0]"
        :aria-checked="mode === one[0] ? 'true' : 'false'" @click="setMode(one[0])">{{ one[1] }}</button></span>
    <span class="pp-two" role="radiogroup" aria-label="Amplifier" v-if="tones.length > 1">
      <button type="button" role="radio" v-for="one in tones" :key="one[0]" :aria-checked="toneNow === one[0] ? 'true' : 'false'"
        @click="setTone(one[0])">{{ one[1] }}</button></span>
    <label>Playback <input type="range" :min="lowest" max="0" step="1" :value="volume" @input="setPlayback(+$event.target.value)"
      @change="$emit('playback', { playback: volume })"
      aria-label="Playback level in dB"> {{ volume <= lowest ? "off" : String(volume).replace("-", "−") + " dB" }}</label>
  </div>
  <p role="status" aria-live="polite">{{ message }}</p>
</div>`,

  emits: ["choose", "level", "tone", "loop", "playback", "played"],

  props: {
    states: { type: Array, default: () => [] },
    chosen: { type: String, default: "" },
    level: { type: String, default: "aligned" },
    tone: { type: String, default: "cable" },
    tones: { type: Array, default: () => [] }, // [key, words] of each
    loop: { type: Array, default: () => [] },
    playback: { type: Number, default: -18 },
    duration: { type: Number, default: 0 },
    rate: { type: Number, default: 48000 },
    label: { type: String, default: "Player" },
    blind: { type: Boolean, default: false }, // nothing is shown that tells sounds apart
  },

  data() {
    return {
      current: this.chosen,
      mode: this.level,
      toneNow: this.tone,
      region: [0, this.duration],
      playing: false,
      shownPosition: 0,
      volume: this.playback,
      lowest: LOWEST_DB,
      peakText: "",
      clipped: false,
      message: "Turn the playback down before the first sound, then up to a level that does not tire you.",
      drag: null,
    };
  },

  computed: {
    ready() {
      return this.states.filter((one) => this.soundOf(one));
    },
    whole() {
      return this.region[0] <= 0 && this.region[1] >= this.duration;
    },
  },

  watch: {
    region: "showLoop",
    states() {
      const offered = new Set(this.states.flatMap((one) => Object.values(one.sounds).map((sound) => sound.url)));
      if (this.blind) for (const url of [...this.decoded.keys()]) if (!offered.has(url)) this.decoded.delete(url);
      this.settle();
    },
    duration(now, before) {
      if (!now) return;
      const kept = this.loop.length === 2 && !before; // the loop of before the reload, as soon as there is a sound
      this.setLoop(...(kept ? this.loop : [0, now]), false);
    },
    chosen(key) {
      if (!key || key === this.current) return;
      if (this.soundOf(this.stateOf(key))) this.choose(key, false);
      else if (!this.run) this.current = key; // it is chosen as soon as it can be heard
    },
    level(mode) {
      if (mode !== this.mode) this.setMode(mode, false);
    },
    tone(tone) {
      if (tone !== this.toneNow) this.setTone(tone, false);
    },
  },

  created() {
    // not for Vue's eyes: large, and its proxies do not suit audio nodes
    Object.assign(this, { context: null, run: null, decoded: new Map(), loading: new Map(), placed: 0, highest: 0, told: 0 });
  },

  mounted() {
    if (!document.getElementById("pp-player-css")) {
      const style = document.createElement("style");
      style.id = "pp-player-css";
      style.textContent = CSS;
      document.head.appendChild(style);
    }
    this.region = this.loop.length === 2 ? [...this.loop] : [0, this.duration];
    this.placed = this.region[0];
    this.showLoop();
    this.onKey = (event) => this.keys(event);
    document.addEventListener("keydown", this.onKey);
    this.resized = new ResizeObserver(() => this.draw());
    this.resized.observe(this.$refs.canvas);
    this.scheme = new MutationObserver(() => this.draw()); // dark and light
    this.scheme.observe(document.body, { attributes: true, attributeFilter: ["class"] });
    this.$el.player = this; // for tests and for curious people
    this.settle();
  },

  unmounted() {
    document.removeEventListener("keydown", this.onKey);
    this.resized.disconnect();
    this.scheme.disconnect();
    cancelAnimationFrame(this.frameAsked);
    if (this.run) this.run.stop();
    if (this.context) this.context.close();
  },

  methods: {
    // ---------------------------------------------------------------- words
    seconds(value) {
      return (Math.round(value * 10) / 10).toFixed(1);
    },
    soundOf(one) {
      return one && one.sounds[this.toneNow];
    },
    noteOf(one) {
      const sound = this.soundOf(one);
      return sound ? sound.note : one.note || "being made";
    },
    stateOf(key) {
      return this.states.find((one) => one.key === key);
    },
    idOf(one) {
      const sound = this.soundOf(one);
      return sound ? sound.url : null;
    },
    levelOf(one) {
      return this.soundOf(one)[this.mode];
    },

    // ---------------------------------------------------------------- choosing
    choose(key, tell = true) {
      if (!this.soundOf(this.stateOf(key))) return;
      this.current = key;
      if (this.run) this.hearNow();
      if (tell) this.$emit("choose", { key });
      this.draw();
    },
    setMode(mode, tell = true) {
      this.mode = mode;
      if (this.run) for (const one of this.ready) this.run.setLevel(this.idOf(one), this.levelOf(one), this.soon());
      if (tell) this.$emit("level", { level: mode });
    },
    setTone(tone, tell = true) {
      this.toneNow = tone;
      this.settle();
      if (tell) this.$emit("tone", { tone });
    },
    setPlayback(value) {
      this.volume = value;
      if (this.master) this.master.gain.setTargetAtTime(this.playbackGain(), this.context.currentTime, 0.01);
    },
    playbackGain() {
      return this.volume <= LOWEST_DB ? 0 : Math.pow(10, this.volume / 20);
    },
    setLoop(from, to, tell = true) {
      const a = Math.min(Math.max(0, from), this.duration);
      const b = Math.min(Math.max(0, to), this.duration);
      const next = [Math.min(a, b), Math.max(a, b)];
      if (next[1] - next[0] < 0.1) next[1] = Math.min(this.duration, next[0] + 0.1);
      if (next[1] - next[0] < 0.1) next[0] = Math.max(0, next[1] - 0.1);
      const here = this.position();
      this.region = next;
      this.placed = here >= next[0] && here < next[1] ? here : next[0];
      if (this.playing) this.begin();
      if (tell) this.$emit("loop", { loop: next });
      this.draw();
    },
    // Not bound in the template: it is drawn anew while a sound plays, and would take away what is being typed.
    showLoop() {
      for (const [end, field] of [this.$refs.from, this.$refs.to].entries())
        if (document.activeElement !== field) field.value = this.seconds(this.region[end]);
    },
    typed(end, event) {
      const value = parseFloat(event.target.value);
      const next = [...this.region];
      if (Number.isFinite(value)) next[end] = value;
      this.setLoop(next[0], next[1]);
      event.target.value = this.seconds(this.region[end]);
    },
    seek(seconds) {
      this.placed = Math.min(Math.max(this.region[0], seconds), Math.max(this.region[0], this.region[1] - 0.01));
      if (this.playing) this.begin();
      this.draw();
    },

    // ---------------------------------------------------------------- sound
    soon() {
      return this.context.currentTime + 0.005;
    },
    open() {
      if (this.context) return;
      this.context = new AudioContext({ sampleRate: this.rate, latencyHint: "interactive" });
      this.master = this.context.createGain();
      this.master.gain.value = this.playbackGain();
      this.meter = this.context.createAnalyser();
      this.meter.fftSize = 8192;
      this.master.connect(this.meter);
      this.meter.connect(this.context.destination);
    },
    async decode(url) {
      if (this.decoded.has(url)) {
        const kept = this.decoded.get(url);
        this.decoded.delete(url); // last used goes last
        this.decoded.set(url, kept);
        return kept;
      }
      if (!this.loading.has(url)) {
        const work = fetch((url.startsWith("/") ? window.path_prefix || "" : "") + url)
          .then((answer) => {
            if (!answer.ok) throw new Error("the sound is gone (" + answer.status + "); make it again");
            return answer.arrayBuffer();
          })
          .then((bytes) => this.context.decodeAudioData(bytes))
          .then((sound) => {
            this.decoded.set(url, { sound });
            this.keepWithin(url);
            return this.decoded.get(url);
          })
          .finally(() => this.loading.delete(url));
        this.loading.set(url, work);
      }
      return this.loading.get(url);
    },
    bytes() {
      let sum = 0;
      for (const { sound, looped } of this.decoded.values())
        for (const one of [sound, looped]) if (one) sum += 4 * one.length * one.numberOfChannels;
      return sum;
    },
    keepWithin(latest) {
      const chosen = this.idOf(this.stateOf(this.current));
      for (const url of [...this.decoded.keys()]) {
        if (this.bytes() <= BUDGET) return;
        if (url === latest || url === chosen) continue;
        this.decoded.delete(url);
        if (this.run) this.run.remove(url);
      }
    },
    frames() {
      return this.region.map((one) => Math.round(one * this.rate));
    },
    looped(kept) {
      const last = kept.sound.length;
      const [from, to] = this.frames().map((one) => Math.min(one, last));
      if (!kept.looped || kept.from !== from || kept.to !== to)
        Object.assign(kept, { looped: loopOf(this.context, kept.sound, from, Math.max(to, from + 2)), from, to });
      return kept.looped;
    },
    async toggle() {
      if (this.playing) return this.pause();
      await this.play();
    },
    async play() {
      if (!this.ready.length) return;
      if (!this.soundOf(this.stateOf(this.current))) this.current = this.ready[0].key;
      window.polepiecePlayer = this;
      this.open();
      await this.context.resume();
      this.playing = true;
      this.$emit("played", {});
      await this.begin();
    },
    pause() {
      this.placed = this.position();
      this.playing = false;
      if (this.run) this.run.stop();
      this.run = null;
      this.draw();
    },
    // (Re)start every voice at one frame of the clock; what is not decoded yet joins when it is.
    async begin() {
      const wanted = this.stateOf(this.current);
      if (!this.idOf(wanted)) return; // another tone was chosen and is still being made: what plays goes on
      try {
        await this.decode(this.idOf(wanted));
      } catch (error) {
        this.message = wanted.name + ": " + error.message + ".";
        this.playing = false;
        return;
      }
      if (!this.playing) return;
      const old = this.run;
      const voices = [];
      for (const one of this.ready) {
        const kept = this.decoded.get(this.idOf(one));
        if (kept) voices.push([this.idOf(one), this.looped(kept), this.levelOf(one)]);
      }
      const startFrame = Math.ceil((this.context.currentTime + LEAD) * this.rate);
      const frame = Math.round((this.placed - this.region[0]) * this.rate);
      const length = this.frames()[1] - this.frames()[0];
      this.run = new Run(this.context, this.master, {
        startFrame,
        frame: ((frame % length) + length) % length,
        margin: LEAD / 2,
      });
      this.run.fadeIn();
      this.run.chosen = this.idOf(this.stateOf(this.current));
      for (const voice of voices) this.run.add(...voice);
      if (old) old.stop();
      this.tick();
      await this.settle();
    },
    // Bring every ready state into the run that is going, the chosen one first.
    async settle() {
      this.draw();
      if (!this.run) return;
      for (const one of this.ready) this.run.setLevel(this.idOf(one), this.levelOf(one), this.soon());
      await this.hearNow();
      for (const one of this.ready) {
        const run = this.run;
        if (!run || run.has(this.idOf(one))) continue;
        try {
          const kept = await this.decode(this.idOf(one));
          if (this.run === run && this.soundOf(one)) run.add(this.idOf(one), this.looped(kept), this.levelOf(one));
        } catch (error) {
          this.message = one.name + ": " + error.message + ".";
        }
      }
      const used = new Set(this.ready.map((one) => this.idOf(one)));
      const run = this.run;
      if (run) for (const id of [...run.voices.keys()]) if (!used.has(id) && id !== run.chosen) setTimeout(() => run.remove(id), 60);
    },
    async hearNow() {
      const one = this.stateOf(this.current);
      const id = one && this.idOf(one);
      const run = this.run;
      if (!id || !run) return;
      if (!run.has(id)) {
        try {
          const kept = await this.decode(id);
          if (this.run !== run) return;
          run.add(id, this.looped(kept), this.levelOf(one));
        } catch (error) {
          this.message = one.name + ": " + error.message + ".";
          return;
        }
      }
      if (this.idOf(this.stateOf(this.current)) === id) run.choose(id, this.soon());
    },
    position() {
      if (!this.run) return this.placed;
      const [from, to] = this.frames();
      return (from + this.run.at(this.context.currentTime * this.rate, Math.max(1, to - from))) / this.rate;
    },

    // ---------------------------------------------------------------- keys
    keys(event) {
      if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey) return;
      const active = window.polepiecePlayer;
      if (active && active !== this && document.contains(active.$el)) return;
      const at = event.target;
      const typing = at.closest && at.closest("input:not([type=range]),textarea,select,[contenteditable=true],.q-menu,.q-dialog,[role=listbox],[role=combobox]");
      if (typing || document.querySelector(".q-dialog")) return;
      if (event.key >= "1" && event.key <= "9") {
        const one = this.states[+event.key - 1];
        if (one) {
          event.preventDefault();
          this.choose(one.key);
        }
      } else if (event.key === " ") {
        const button = at.closest && at.closest("button,a,summary,[role=button],[role=checkbox],[role=switch],[role=tab]");
        if (button && !(this.$el.contains(button) && button.getAttribute("role") === "radio")) return; // it acts by itself
        event.preventDefault();
        this.toggle();
      }
    },
    arrows(event) {
      const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      if (!step || !this.ready.length) return;
      event.preventDefault();
      const here = this.ready.findIndex((one) => one.key === this.current);
      const next = this.ready[(here + step + this.ready.length) % this.ready.length];
      this.choose(next.key);
      this.$nextTick(() => this.$el.querySelector(`[data-key="${CSS_escape(next.key)}"]`).focus());
    },
    seekKeys(event) {
      const step = { ArrowRight: 0.25, ArrowLeft: -0.25 }[event.key];
      if (step) this.seek(this.position() + step);
      else if (event.key === "Home") this.seek(this.region[0]);
      else return;
      event.preventDefault();
    },

    // ---------------------------------------------------------------- screen
    timeAt(event) {
      const box = this.$refs.canvas.getBoundingClientRect();
      return (Math.min(Math.max(0, event.clientX - box.left), box.width) / box.width) * this.duration;
    },
    dragBegin(event) {
      this.drag = { from: this.timeAt(event), to: null, x: event.clientX };
      this.$refs.canvas.setPointerCapture(event.pointerId);
    },
    dragMove(event) {
      if (!this.drag || (this.drag.to === null && Math.abs(event.clientX - this.drag.x) < 6)) return;
      this.drag.to = this.timeAt(event);
      this.draw();
    },
    dragEnd() {
      const drag = this.drag;
      this.drag = null;
      if (!drag) return;
      if (drag.to === null) this.seek(drag.from);
      else this.setLoop(drag.from, drag.to);
    },
    tick() {
      cancelAnimationFrame(this.frameAsked);
      this.frameAsked = requestAnimationFrame(() => {
        this.measure();
        this.draw();
        if (this.playing) this.tick();
      });
    },
    measure() {
      if (!this.meter || !this.playing) return;
      const block = this.snapshot();
      let most = 0;
      for (const one of block) if (Math.abs(one) > most) most = Math.abs(one);
      this.highest = Math.max(this.highest, most);
      const now = performance.now();
      if (now - this.told < SCREEN_MS * 4) return;
      this.told = now;
      const db = (value) => (value > 1e-5 ? (20 * Math.log10(value)).toFixed(1).replace("-", "−") : "−∞");
      this.clipped = this.highest > 1.0;
      this.peakText = `peak ${db(most)} dBFS, highest ${db(this.highest)}${this.clipped ? ": clipped, turn the playback down" : ""}`;
    },
    draw() {
      const canvas = this.$refs.canvas;
      if (!canvas) return;
      const now = performance.now();
      if (!this.playing || now - (this.moved || 0) > SCREEN_MS) {
        this.moved = now;
        this.shownPosition = this.position();
      }
      const ratio = window.devicePixelRatio || 1;
      const [width, height] = [canvas.clientWidth, canvas.clientHeight];
      if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
        canvas.width = Math.round(width * ratio);
        canvas.height = Math.round(height * ratio);
      }
      const paint = canvas.getContext("2d");
      const style = getComputedStyle(canvas);
      const ink = style.color;
      const accent = style.getPropertyValue("--accent").trim() || "#0b567f";
      paint.setTransform(ratio, 0, 0, ratio, 0, 0);
      paint.clearRect(0, 0, width, height);
      const x = (seconds) => (this.duration ? (seconds / this.duration) * width : 0);
      const shown = this.drag && this.drag.to !== null ? [this.drag.from, this.drag.to].sort((a, b) => a - b) : this.region;
      const sound = this.soundOf(this.stateOf(this.current)) || this.soundOf(this.ready[0]);
      if (sound && sound.peaks) {
        const scale = (height / 2 - 4) / 127;
        const columns = sound.peaks.length / 2;
        paint.fillStyle = ink;
        for (let px = 0; px < width; px++) {
          const first = Math.floor((px / width) * columns);
          const last = Math.max(first + 1, Math.floor(((px + 1) / width) * columns));
          let low = 127;
          let high = -127;
          for (let k = first; k < last && k < columns; k++) {
            low = Math.min(low, sound.peaks[2 * k]);
            high = Math.max(high, sound.peaks[2 * k + 1]);
          }
          const inside = px >= x(shown[0]) && px <= x(shown[1]);
          paint.globalAlpha = inside ? 0.7 : 0.25;
          paint.fillRect(px, height / 2 - high * scale, 1, Math.max(1, (high - low) * scale));
        }
        paint.globalAlpha = 1;
      }
      paint.strokeStyle = accent;
      paint.lineWidth = 1;
      paint.setLineDash([4, 3]);
      if (this.duration && !(shown[0] <= 0 && shown[1] >= this.duration))
        for (const edge of shown) paint.strokeRect(x(edge), -1, 0, height + 2);
      paint.setLineDash([]);
      paint.lineWidth = 2;
      const here = Math.min(Math.max(1, x(this.position())), width - 1);
      paint.beginPath();
      paint.moveTo(here, 0);
      paint.lineTo(here, height);
      paint.stroke();
    },

    // ---------------------------------------------------------------- proof
    // The latest samples on their way to the loudspeaker (8192), playback level included.
    snapshot() {
      const block = new Float32Array(this.meter.fftSize);
      this.meter.getFloatTimeDomainData(block);
      return block;
    },
    // Gain and looped samples of a state, as they are played now.
    async voiceOf(key) {
      this.open();
      const one = this.stateOf(key);
      const kept = await this.decode(this.idOf(one));
      return { level: this.levelOf(one), samples: this.looped(kept).getChannelData(0) };
    },
    // The same Run into an OfflineAudioContext: [[time, key], ...] are the switches. First channel.
    async offline(switches, seconds) {
      this.open();
      const ready = [];
      for (const one of this.ready) ready.push([this.idOf(one), this.looped(await this.decode(this.idOf(one))), this.levelOf(one)]);
      const context = new OfflineAudioContext(ready[0][1].numberOfChannels, Math.round(seconds * this.rate), this.rate);
      const run = new Run(context, context.destination, { startFrame: 0, frame: 0, margin: 0 });
      run.chosen = this.idOf(this.stateOf(switches[0][1]));
      for (const voice of ready) run.add(...voice);
      for (const [time, key] of switches.slice(1)) run.choose(this.idOf(this.stateOf(key)), time);
      return (await context.startRendering()).getChannelData(0);
    },
  },
};

function CSS_escape(text) {
  return window.CSS && window.CSS.escape ? window.CSS.escape(text) : text.replace(/["\\]/g, "\\$&");
}

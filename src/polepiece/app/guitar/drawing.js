// A pickup under its strings, seen along them, to scale. Strings stay; body and screws move with their handles.
export default {
  template: `
    <div class="drawing-box" ref="box">
      <svg v-if="scene.strings" class="drawing live" :viewBox="view.join(' ')" role="group" :aria-label="scene.words"
           :data-version="version" :style="{ fontSize: 12.5 / px + 'px' }">
        <g :transform="body" class="body" aria-hidden="true">
          <g v-for="(b, k) in scene.body" :key="k">
            <rect :x="b.u" :y="-(b.z + b.h)" :width="b.w" :height="b.h" rx=".2" :class="cls(b)"/>
            <rect v-if="b.top" :x="b.u" :y="-(b.z + b.h)" :width="b.w" :height="b.h / 2" rx=".2" :class="b.top === 'N' ? 'north' : 'south'"/>
            <template v-if="b.pole">
              <text v-if="!b.top" class="pole" :x="b.u + b.w - 2" :y="-(b.z + b.h / 2)" dy=".35em" text-anchor="middle">{{ b.pole }}</text>
              <text v-if="!b.top" class="pole" :x="b.u + 2" :y="-(b.z + b.h / 2)" dy=".35em" text-anchor="middle">{{ b.pole }}</text>
              <text v-if="b.top" class="pole" :x="b.u + b.w / 2" :y="-(b.z + b.h) + 1.6" dy=".35em" text-anchor="middle">{{ b.top }}</text>
            </template>
          </g>
          <g v-for="(s, k) in scene.screws" :key="'s' + k" :class="{ far: scene.far }">
            <rect :x="s.u - s.r" :y="-(s.top + up(k))" :width="2 * s.r" :height="s.top - s.bottom" class="steel"/>
            <rect :x="s.u - s.head" :y="-(s.top + s.headHeight + up(k))" :width="2 * s.head" :height="s.headHeight" rx=".5" class="steel head"/>
          </g>
        </g>
        <g class="strings" aria-hidden="true">
          <g v-for="(s, k) in scene.strings" :key="k">
            <circle class="string" :cx="s.u" :cy="-s.d / 2" :r="Math.max(s.d / 2, .12)"/>
            <line v-if="s.field !== null" class="field" :x1="s.u" :x2="s.u" :y1="-s.d - .5" :y2="-s.d - .5 - Math.abs(s.field) * scene.scale"/>
            <path v-if="s.field !== null" class="field tip" :d="tip(s)"/>
            <text class="tag" :x="s.u" :y="-top + 12.5 / px" text-anchor="middle">{{ k + 1 }}</text>
            <text v-if="s.field !== null" class="tag soft" :x="s.u" :y="-top + 27 / px" text-anchor="middle">{{ fieldText(s) }}</text>
          </g>
          <text class="tag soft" :x="-half" :y="-top + 12.5 / px">string</text>
          <text v-if="scene.strings.length && scene.strings[0].field !== null" class="tag soft" :x="-half" :y="-top + 27 / px">mT</text>
        </g>
        <g class="gauge" aria-hidden="true" v-for="(side, k) in ['treble', 'bass']" :key="side">
          <line :x1="scene.ends[k] + off(side)" :x2="scene.ends[k] + off(side)" y1="0" :y2="gap(side)" class="measure"/>
          <line :x1="scene.ends[k] + off(side) - 1" :x2="scene.ends[k] + off(side) + 1" y1="0" y2="0" class="measure"/>
          <line :x1="scene.ends[k] + off(side) - 1" :x2="scene.ends[k] + off(side) + 1" :y1="gap(side)" :y2="gap(side)" class="measure"/>
          <text class="tag" :x="scene.ends[k] + off(side) * 1.33" :y="gap(side) / 2" dy=".35em"
                :text-anchor="off(side) < 0 ? 'end' : 'start'">{{ gap(side).toFixed(1) }}{{ px < 4.5 ? "" : " mm" }}</text>
        </g>
        <g v-for="h in handles" :key="h.what" class="handle" :class="{ held: held && held.what === h.what }" role="slider" tabindex="0"
           aria-orientation="vertical" :aria-label="h.label" :aria-valuenow="h.now" :aria-valuemin="h.min" :aria-valuemax="h.max"
           :aria-valuetext="h.text" :data-handle="h.what" @pointerdown="take($event, h)" @pointermove="drag" @pointerup="release"
           @pointercancel="release" @keydown="key($event, h)" @keyup="keyup" @blur="settle">
          <rect class="reach" rx=".6" :x="h.u - h.rx" :y="h.v - h.ry + (h.big ? 0 : 2)" :width="2 * h.rx" :height="2 * h.ry"/>
          <path class="grip" :d="grip(h)"/>
        </g>
        <g aria-hidden="true">
          <line class="measure" :x1="-half" :x2="-half + 10" :y1="low - 1.2" :y2="low - 1.2"/>
          <text class="tag soft" :x="-half + 11" :y="low - 1.2" dy=".35em">10 mm</text>
        </g>
      </svg>
    </div>`,
  props: { scene: Object, version: Number },
  emits: ["move"],
  data() {
    return { px: 8, own: {}, held: null, sentAt: 0, timer: null, dirty: null };
  },
  computed: {
    half() { return this.scene.half + this.scene.edge; },
    top() { return Math.max(9.5, ...this.scene.strings.map((s) => s.d + 1.5 + Math.abs(s.field || 0) * this.scene.scale)) + 30 / this.px; },
    low() { return Math.max(...this.scene.tops) + Math.max(this.gap("bass"), this.gap("treble"), 4) - this.scene.low + 3; },
    view() { const m = this.scene.margin; return [-this.half - m, -this.top, 2 * (this.half + m), this.top + this.low]; },
    under() {
      const [t, b] = this.scene.tops, [y0, y1] = this.scene.ends;
      const one = t + this.gap("treble"), other = b + this.gap("bass");
      const m = y0 === y1 ? 0 : (one - other) / (y0 - y1);
      return { m, c: one - m * y0 };
    },
    body() { return "matrix(1 " + this.under.m + " 0 1 0 " + this.under.c + ")"; },
    handles() {
      const out = [], s = this.scene, reach = Math.max(3, 13 / this.px);
      for (const [k, side] of [[1, "bass"], [0, "treble"]]) {
        const u = (side === "bass" ? -1 : 1) * (s.half + 2.6), v = this.under.c + this.under.m * u - s.tops[k] * 0.45;
        out.push({ what: side, u, v, rx: reach, ry: Math.max(6, reach), big: true, now: this.gap(side), min: 1, max: 8, sign: 1, step: s.step,
          label: "Gap on the " + side + " side, mm. Arrow up raises the pickup, arrow down lowers it", text: this.gap(side).toFixed(2) + " mm" });
      }
      s.screws.forEach((one, k) => {
        const v = this.under.c + this.under.m * one.u - (one.top + one.headHeight / 2 + this.up(k));
        const turns = this.up(k) / s.turn;
        out.push({ what: "screw" + (k + 1), u: one.u, v, rx: Math.min(4.6, reach), ry: Math.min(4.6, reach), now: +this.up(k).toFixed(3), min: -3, max: s.loose,
          sign: -1, step: s.eighth, label: "Pole screw " + (k + 1) + ". Arrow up turns it up by an eighth, arrow down turns it down",
          text: +Math.abs(turns).toFixed(3) + " turn " + (turns < 0 ? "down" : "up") });
      });
      return out;
    },
  },
  watch: {
    version() { if (!this.held && !this.timer) this.own = {}; },
  },
  mounted() {
    this.watcher = new ResizeObserver(([e]) => { if (e.contentRect.width > 0 && this.scene.half) this.px = e.contentRect.width / (2 * (this.scene.half + this.scene.edge + this.scene.margin)); });
    this.watcher.observe(this.$refs.box);
  },
  unmounted() { this.watcher.disconnect(); clearTimeout(this.timer); },
  methods: {
    cls(b) { return b.pole ? (b.pole === "N" ? "north" : "south") : b.kind; },
    gap(side) { return side in this.own ? this.own[side] : this.scene[side]; },
    up(k) { const w = "screw" + (k + 1); return w in this.own ? this.own[w] : this.scene.screws[k].up; },
    off(side) { return side === "bass" ? -4.2 : 4.2; },
    fieldText(s) { return s.field.toFixed(0).replace("-", "−"); },
    tip(s) {
      const end = -s.d - 0.5 - Math.abs(s.field) * this.scene.scale, base = -s.d - 0.5;
      return s.field >= 0 ? `M${s.u - 0.7} ${end + 1}L${s.u} ${end - 0.4}L${s.u + 0.7} ${end + 1}z` : `M${s.u - 0.7} ${base - 1}L${s.u} ${base + 0.4}L${s.u + 0.7} ${base - 1}z`;
    },
    grip(h) {
      const { u, v } = h;
      if (h.big) return `M${u - 1.3} ${v - 1}h2.6v2h-2.6z M${u - 1.3} ${v - 1.8}L${u} ${v - 3.6}L${u + 1.3} ${v - 1.8}z M${u - 1.3} ${v + 1.8}L${u} ${v + 3.6}L${u + 1.3} ${v + 1.8}z`;
      const c = v + 3.4;
      return `M${u - 1.1} ${c - 0.5}L${u} ${c - 2}L${u + 1.1} ${c - 0.5}z M${u - 1.1} ${c + 0.5}L${u} ${c + 2}L${u + 1.1} ${c + 0.5}z`;
    },
    mm(e) {
      const m = this.$refs.box.querySelector("svg").getScreenCTM();
      return e.clientY / m.d;
    },
    take(e, h) {
      if (e.button) return;
      e.currentTarget.setPointerCapture(e.pointerId);
      this.held = { what: h.what, from: this.mm(e), start: h.now, sign: h.sign, step: h.big ? 0.05 : h.step, min: h.min, max: h.max };
      e.currentTarget.focus();
      e.preventDefault();
    },
    drag(e) {
      if (!this.held) return;
      const h = this.held, raw = h.start + h.sign * (this.mm(e) - h.from);
      const value = Math.min(h.max, Math.max(h.min, Math.round(raw / h.step) * h.step));
      this.set(h.what, value, false);
    },
    release() {
      if (!this.held) return;
      const what = this.held.what;
      this.held = null;
      this.dirty = what in this.own ? what : null;
      this.settle();
    },
    key(e, h) {
      const way = { ArrowUp: -1, ArrowDown: 1, PageUp: -5, PageDown: 5 }[e.key];
      if (!way) return;
      e.preventDefault();
      const value = Math.min(h.max, Math.max(h.min, Math.round((h.now + way * h.sign * h.step) / h.step) * h.step));
      this.dirty = h.what;
      this.set(h.what, value, false);
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.settle(), 700);
    },
    keyup() {},
    settle() {
      clearTimeout(this.timer);
      this.timer = null;
      if (this.dirty === null) return;
      const what = this.dirty;
      this.dirty = null;
      this.send(what, this.own[what], true);
    },
    set(what, value, done) {
      if (this.own[what] === value) return;
      this.own = { ...this.own, [what]: value };
      const now = performance.now();
      clearTimeout(this.later);
      if (now - this.sentAt >= 33) this.send(what, value, done);
      else this.later = setTimeout(() => this.send(what, this.own[what], done), 33 - (now - this.sentAt));
    },
    send(what, value, done) {
      if (value === undefined) return;
      clearTimeout(this.later);
      this.sentAt = performance.now();
      this.$emit("move", { what, value: +value.toFixed(4), done });
    },
  },
};

// Curves over log frequency as SVG. Colours and dashes are classes of the style sheet.
const STEPS = [0.5, 1, 2, 5, 10, 20, 50, 100];
const NAMED = { 20: "20", 50: "50", 100: "100", 200: "200", 500: "500", 1000: "1k", 2000: "2k", 5000: "5k", 10000: "10k", 20000: "20k" };

// "80.0 81.2": numbers with a blank between them, as they travel; "": none
const numbers = (text) => (text ? text.split(" ").map(Number) : []);

export default {
  template: `
    <div class="chart-box" ref="box">
      <div class="chart-hold" tabindex="0" role="group" :aria-label="title + '. Left and right arrow keys read values.'"
           @keydown="key" @pointermove="point" @pointerdown="point" @pointerleave="leave" @blur="leave">
        <svg class="chart" :class="{ stale, near }" :viewBox="'0 0 ' + width + ' ' + height" role="img" :aria-label="title"
             :data-version="version" :height="height">
          <g class="gridlines" aria-hidden="true">
            <line v-for="g in grid" :x1="g.x" :x2="g.x" :y1="top" :y2="height - bottom" :class="g.cls"/>
            <line v-for="l in levels" :x1="left" :x2="width - right" :y1="l.y" :y2="l.y" :class="l.cls"/>
            <text v-for="g in grid.filter(g => g.name)" :x="g.x" :y="height - bottom + 16" text-anchor="middle">{{ g.name }}</text>
            <text v-for="l in levels" :x="left - 6" :y="l.y + 4" text-anchor="end">{{ l.name }}</text>
            <text :x="(left + width - right) / 2" :y="height - 6" text-anchor="middle">frequency, Hz</text>
            <text :transform="'translate(12 ' + (top + height - bottom) / 2 + ') rotate(-90)'" text-anchor="middle">{{ unit }}</text>
          </g>
          <path v-for="c in paths" :key="c.key" :d="c.d" class="curve" :class="'c-' + c.look"/>
          <g v-if="at !== null" aria-hidden="true">
            <line class="cursor" :x1="x(hertz[at])" :x2="x(hertz[at])" :y1="top" :y2="height - bottom"/>
            <circle v-for="c in lines" r="4" class="dot" :class="'c-' + c.look" :cx="x(hertz[at])" :cy="y(c.values[at])"/>
          </g>
          <text v-if="!curves.length" class="empty" :x="width / 2" :y="height / 2" text-anchor="middle">computing …</text>
        </svg>
      </div>
      <ul class="legend" aria-label="Lines">
        <li v-for="(c, k) in curves" :key="k"><svg class="sample" viewBox="0 0 44 12" aria-hidden="true"><line x1="0" y1="6" x2="44" y2="6" class="curve" :class="'c-' + c.look"/></svg>
          <span>{{ c.name }}</span></li>
      </ul>
      <p class="reading" aria-live="polite">{{ reading }}</p>
    </div>`,
  props: {
    title: String, unit: String, span: Number, low: { type: Number, default: 20 }, frequency: String, curves: Array, stale: Boolean, near: Boolean, version: Number,
  },
  data() {
    return { width: 640, at: null };
  },
  computed: {
    height() { return this.width < 480 ? 270 : Math.min(400, Math.round(this.width * 0.55)); },
    left() { return 52; },
    right() { return 14; },
    top() { return 10; },
    bottom() { return 42; },
    hertz() { return numbers(this.frequency); },
    lines() { return this.curves.map((c) => ({ name: c.name, look: c.look, values: numbers(c.values) })); },
    range() {
      let low = Infinity, high = -Infinity;
      for (const c of this.lines) for (const v of c.values) { if (v < low) low = v; if (v > high) high = v; }
      if (!(high > low)) { const m = Number.isFinite(high) ? high : 0; low = m - 1; high = m + 1; }
      if (high - low < this.span) { const m = (low + high) / 2; low = m - this.span / 2; high = m + this.span / 2; }
      const step = STEPS.find((s) => (high - low) / s <= 7) || 200;
      return { low: Math.floor(low / step) * step, high: Math.ceil(high / step) * step, step };
    },
    grid() {
      const out = [];
      for (const decade of [10, 100, 1000, 10000])
        for (let d = 1; d < 10; d++) {
          const f = decade * d;
          if (f >= this.low && f <= 20000) out.push({ x: this.x(f), cls: d === 1 ? "grid strong" : "grid", name: this.width < 480 && /^[25]/.test(NAMED[f] || "") && f > 20 && f < 20000 ? "" : NAMED[f] });
        }
      return out;
    },
    levels() {
      const { low, high, step } = this.range, out = [];
      for (let v = low; v <= high + 1e-9; v += step)
        out.push({ y: this.y(v), name: String(+v.toFixed(1)).replace("-", "−"), cls: Math.abs(v) < 1e-9 ? "grid strong" : "grid" });
      return out;
    },
    paths() {
      const xs = this.hertz.map((f) => this.x(f).toFixed(1));
      return this.lines.map((c, k) => ({ key: k, look: c.look, d: "M" + c.values.map((v, i) => xs[i] + " " + this.y(v).toFixed(1)).join("L") }));
    },
    reading() {
      if (this.at === null) return this.near ? "Dashed: near what is there now; the exact curve is on its way." : this.stale ? "Greyed: not the exact curve of what is there now." : "";
      const f = this.hertz[this.at];
      const words = f < 1000 ? Math.round(f) + " Hz" : (f / 1000).toFixed(2) + " kHz";
      return words + ": " + this.lines.map((c) => c.name + " " + c.values[this.at].toFixed(1).replace("-", "−") + " dB").join("; ");
    },
  },
  mounted() {
    this.watcher = new ResizeObserver(([e]) => { const w = Math.round(e.contentRect.width); if (w > 0) this.width = w; });
    this.watcher.observe(this.$refs.box);
  },
  unmounted() { this.watcher.disconnect(); },
  watch: {
    hertz(f) { if (this.at !== null && this.at >= f.length) this.at = null; },
  },
  methods: {
    x(f) { return this.left + (Math.log(f / this.low) / Math.log(20000 / this.low)) * (this.width - this.left - this.right); },
    y(v) { const { low, high } = this.range; return this.top + ((high - v) / (high - low)) * (this.height - this.top - this.bottom); },
    point(e) {
      if (!this.hertz.length) return;
      const box = e.currentTarget.getBoundingClientRect();
      const share = ((e.clientX - box.left) / box.width * this.width - this.left) / (this.width - this.left - this.right);
      const f = this.low * Math.pow(20000 / this.low, Math.min(1, Math.max(0, share)));
      let best = 0;
      this.hertz.forEach((one, k) => { if (Math.abs(Math.log(one / f)) < Math.abs(Math.log(this.hertz[best] / f))) best = k; });
      this.at = best;
    },
    leave() { this.at = null; },
    key(e) {
      const step = { ArrowLeft: -4, ArrowRight: 4, PageDown: -40, PageUp: 40 }[e.key];
      if (e.key === "Escape") { this.at = null; return; }
      if (!step || !this.hertz.length) return;
      e.preventDefault();
      const from = this.at === null ? this.hertz.findIndex((f) => f >= 1000) : this.at;
      this.at = Math.min(this.hertz.length - 1, Math.max(0, from + step));
    },
  },
};

// At the bench: one step of the sheet a screen, with back and next at a fixed place. The sheet itself stays as it is.
const BODY = ".sheet-body", SCREEN = ".bench-screen";

export default {
  template: `
    <div class="bench-bar" :class="{ on }">
      <template v-if="on">
        <button type="button" class="press" @click="go(-1)" :disabled="at === 0">back</button>
        <span class="place-of" aria-live="polite">{{ at + 1 }} of {{ count }}: {{ title }}</span>
        <button type="button" class="press main" @click="go(1)" :disabled="at + 1 === count">next</button>
        <button type="button" class="press quiet" @click="leave">whole sheet</button>
      </template>
      <button v-else type="button" class="press main" @click="enter">at the bench: one step a screen</button>
    </div>`,
  data() { return { on: false, at: 0, count: 0, title: "" }; },
  unmounted() { this.clear(); },
  methods: {
    screens() { return [...document.querySelectorAll(BODY + " " + SCREEN)]; },
    clear() {
      document.querySelector(BODY)?.classList.remove("at-bench");
      this.screens().forEach((one) => one.classList.remove("now"));
    },
    show() {
      const every = this.screens();
      this.count = every.length;
      this.at = Math.min(this.at, every.length - 1);
      every.forEach((one, k) => one.classList.toggle("now", k === this.at));
      const now = every[this.at], part = now.closest(".sheet-part");
      this.title = part?.querySelector("h2")?.textContent || "";
      window.scrollTo(0, 0);
      now.querySelector("input")?.focus({ preventScroll: true });
    },
    enter() {
      if (!this.screens().length) return;
      this.on = true;
      document.querySelector(BODY).classList.add("at-bench");
      const todo = this.screens().findIndex((one) => [...one.querySelectorAll("input[type=checkbox]")].some((box) => !box.checked));
      this.at = Math.max(0, todo);
      this.$nextTick(this.show);
    },
    go(way) { this.at = Math.min(this.count - 1, Math.max(0, this.at + way)); this.show(); },
    leave() { this.on = false; this.clear(); },
  },
};

// A labelled line for a value with its unit; keeps what is being typed while the page redraws around it.
export default {
  template: `
    <label><span class="name">{{ label }}</span>
      <input ref="line" v-model="typed" type="text" inputmode="text" autocomplete="off" spellcheck="false" @change="enter" @keydown.enter="$event.target.blur()">
    </label>`,
  props: { label: String, value: String, version: Number, heard: Number },
  emits: ["enter"],
  data() { return { typed: this.value, shown: this.value, said: this.heard }; },
  watch: { version() { this.follow(); }, heard() { this.follow(); } },
  methods: {
    follow() {
      if (this.heard !== this.said) return;  // sent before what was entered came there
      const typing = document.activeElement === this.$refs.line && this.typed !== this.shown;
      this.shown = this.value;
      if (!typing) this.typed = this.value;  // what is being typed is not lost to a change from elsewhere
    },
    enter() { this.shown = this.typed; this.said += 1; this.$emit("enter", this.typed); },
  },
};

// A labelled select; keeps its own state, so that a redraw of the page does not disturb it.
export default {
  template: `
    <label><span class="name">{{ label }}</span>
      <select v-model="chosen" @change="choose"><option v-for="o in options" :key="o[0]" :value="o[0]">{{ o[1] }}</option></select>
    </label>`,
  props: { label: String, options: Array, value: String, cookie: String, version: Number, heard: Number },
  emits: ["choose"],
  data() { return { chosen: this.value, said: this.heard }; },
  watch: { version() { this.follow(); }, heard() { this.follow(); } },
  methods: {
    follow() { if (this.heard === this.said) this.chosen = this.value; },  // else it was sent before the choice came there
    choose() {
      if (this.cookie) document.cookie = `${this.cookie}=${this.chosen}; path=/; max-age=31536000; samesite=strict`;
      this.said += 1;
      this.$emit("choose", this.chosen);
    },
  },
};

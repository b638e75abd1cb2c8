// A labelled select; keeps its own state, so that a redraw of the page does not disturb it.
export default {
  template: `
    <label><span class="name">{{ label }}</span>
      <select v-model="chosen" @change="choose"><option v-for="o in options" :key="o[0]" :value="o[0]">{{ o[1] }}</option></select>
    </label>`,
  props: { label: String, options: Array, value: String, cookie: String, version: Number },
  emits: ["choose"],
  data() { return { chosen: this.value }; },
  watch: { version() { this.chosen = this.value; } },
  methods: {
    choose() {
      if (this.cookie) document.cookie = `${this.cookie}=${this.chosen}; path=/; max-age=31536000; samesite=strict`;
      this.$emit("choose", this.chosen);
    },
  },
};

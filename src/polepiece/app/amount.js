// A labelled line for a value with its unit; keeps what is being typed while the page redraws around it.
export default {
  template: `
    <label><span class="name">{{ label }}</span>
      <input v-model="typed" type="text" inputmode="text" autocomplete="off" spellcheck="false" @change="enter" @keydown.enter="$event.target.blur()">
    </label>`,
  props: { label: String, value: String, version: Number },
  emits: ["enter"],
  data() { return { typed: this.value }; },
  watch: { version() { this.typed = this.value; } },
  methods: { enter() { this.$emit("enter", this.typed); } },
};

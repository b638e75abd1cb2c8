// Single keys of the page: each tells Python once a press; not while something is typed, never with Ctrl, Alt or Meta.
export default {
  template: `<span hidden></span>`,
  props: { keys: { type: Array, default: () => [] } },
  emits: ["pressed"],
  mounted() {
    this.heard = (event) => {
      if (event.defaultPrevented || event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
      const at = event.target;
      if (at.closest && at.closest("input:not([type=range]),textarea,select,[contenteditable=true],[role=listbox]")) return;
      const key = event.key.toLowerCase();
      if (!this.keys.includes(key)) return;
      event.preventDefault();
      this.$emit("pressed", key);
    };
    document.addEventListener("keydown", this.heard);
  },
  unmounted() {
    document.removeEventListener("keydown", this.heard);
  },
};

// Light, dark or grey, as somebody chose, else as their machine has it.
const kept = 'drybus-call-colours';

export function startColours(chooser) {
  const set = (colours) => {
    document.documentElement.dataset.colours = colours;
    chooser.value = colours;
    localStorage.setItem(kept, colours);
  };
  chooser.addEventListener('change', () => set(chooser.value));
  set(localStorage.getItem(kept) ?? (matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light'));
}

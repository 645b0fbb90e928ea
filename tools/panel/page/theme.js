// Paper, as the pictures of drybus are, or a dark room's colours. What was chosen is kept.
const kept = 'drybus-panel-theme';

export function startTheme(button) {
  const wanted = localStorage.getItem(kept) ??
    (matchMedia('(prefers-color-scheme: dark)').matches ? 'dark-room' : 'paper');
  const set = (theme) => {
    document.documentElement.dataset.theme = theme;
    button.setAttribute('aria-pressed', String(theme === 'dark-room'));
    localStorage.setItem(kept, theme);
  };
  const toggle = () => set(document.documentElement.dataset.theme === 'paper' ? 'dark-room' : 'paper');
  button.addEventListener('click', toggle);
  set(wanted);
  return toggle;
}

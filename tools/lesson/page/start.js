// Runs first: makes the page's modules out of what the page carries, as there is nobody to ask for files.
const modules = JSON.parse(document.getElementById('page-modules').textContent);
const imports = Object.fromEntries(Object.entries(modules).map(([name, text]) =>
  [`page/${name}`, URL.createObjectURL(new Blob([text], { type: 'text/javascript' }))]));
const map = document.createElement('script');
map.type = 'importmap';
map.textContent = JSON.stringify({ imports });
document.head.append(map);
const main = document.createElement('script');
main.type = 'module';
main.textContent = "import 'page/panel.js';";
document.head.append(main);

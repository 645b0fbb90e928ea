// Which family a device is of: its buttons and gestures, its times, how its lamp shows what.
export function familyOf(hello, name) {
  const spec = hello.plates.find((each) => each.name === name) ?? hello.modules.find((each) => each.name === name);
  return hello.families.find((family) => family.name === spec?.family) ?? hello.families[0];
}

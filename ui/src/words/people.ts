export const people = {
  intro: "Everyone who measures, reads or decides. Records carry a name; students read blind unless told otherwise.",
  name: "Name",
  role: "Role",
  add: "Add a person",
  adding: "Adding…",
  you: "this screen writes as",
  choose: "Write as",
  roleMeans: {
    supervisor: "answers for the bench and for what others did there",
    analyst: "measures and decides",
    student: "measures and reads; sees the engine’s opinion after their own",
    viewer: "looks",
  },
  introGuarded: "Everyone who measures, reads or decides. Records carry the name of whoever is logged in.",
  needsSupervisor: "A supervisor adds people.",
} as const;

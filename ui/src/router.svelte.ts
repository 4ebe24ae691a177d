/** Where the person is, kept in the fragment of the address, so that any page can be sent as a link. */
export type RoomName =
  | "today"
  | "samples"
  | "sample"
  | "recordings"
  | "reading"
  | "benches"
  | "bench"
  | "import"
  | "compare"
  | "people"
  | "camera"
  | "programme"
  | "sessions"
  | "session"
  | "thermometers"
  | "thermometer"
  | "standards"
  | "identity"
  | "mixed"
  | "library"
  | "out"
  | "me"
  | "access"
  | "rereading"
  | "practice"
  | "readers"
  | "handout"
  | "practicals"
  | "practical-new"
  | "practical"
  | "practical-labels"
  | "join"
  | "seat"
  | "invitation"
  | "sign-in"
  | "nowhere";

export interface Place {
  room: RoomName;
  id: string;
  query: URLSearchParams;
}

/** Behind the address of a practical: what is printed of it. */
const LABELS = "/labels";

/** The place that a fragment such as `#/samples/0192?x=1` names. */
export function placeFrom(fragment: string): Place {
  const [path = "", search = ""] = fragment.replace(/^#\/?/, "").split("?", 2);
  const [head = "", ...rest] = path.split("/");
  const id = decode(rest.join("/"));
  const query = new URLSearchParams(search);
  switch (head) {
    case "":
    case "today":
      return { room: "today", id: "", query };
    case "samples":
      return { room: id ? "sample" : "samples", id, query };
    case "recordings":
      return { room: id ? "reading" : "recordings", id, query };
    case "benches":
      return { room: "benches", id: "", query };
    case "bench":
      return { room: id ? "bench" : "benches", id, query };
    case "thermometers":
      return { room: id ? "thermometer" : "thermometers", id, query };
    case "sessions":
      return { room: id ? "session" : "sessions", id, query };
    case "practicals":
      if (id === "new") return { room: "practical-new", id: "", query };
      if (id.endsWith(LABELS)) return { room: "practical-labels", id: id.slice(0, -LABELS.length), query };
      return { room: id ? "practical" : "practicals", id, query };
    case "seat":
      return { room: id ? "seat" : "join", id, query };
    case "join":
    case "programme":
    case "standards":
    case "identity":
    case "mixed":
    case "library":
    case "out":
    case "import":
    case "compare":
    case "people":
    case "me":
    case "access":
    case "rereading":
    case "practice":
    case "readers":
    case "handout":
    case "invitation":
    case "sign-in":
    case "camera":
      return { room: head, id, query };
    default:
      return { room: "nowhere", id: head, query };
  }
}

function decode(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** `?a=1&b=x` of what is there. */
function asked(values: Record<string, string | number | null | undefined>): string {
  const set = Object.entries(values).filter(([, value]) => value !== null && value !== undefined && value !== "");
  return set.length ? `?${new URLSearchParams(set.map(([key, value]) => [key, String(value)]))}` : "";
}

/** A range that is handed over: first liquid, last crystal and standard uncertainty [°C], and whose it is. */
export interface HandedRange {
  first?: number | null;
  last?: number | null;
  u?: number | null;
  sample?: string;
}

/** Addresses of the pages. */
export const to = {
  today: "#/today",
  samples: "#/samples",
  sample: (id: string) => `#/samples/${encodeURIComponent(id)}`,
  recordings: "#/recordings",
  reading: (id: string) => `#/recordings/${encodeURIComponent(id)}`,
  benches: "#/benches",
  bench: (name: string) => `#/bench/${encodeURIComponent(name)}`,
  /** The bench's page with a plan that is handed over. */
  benchWith: (name: string, handed: string) => `#/bench/${encodeURIComponent(name)}?plan=${encodeURIComponent(handed)}`,
  programme: "#/programme",
  sessions: "#/sessions",
  session: (name: string) => `#/sessions/${encodeURIComponent(name)}`,
  sessionSheet: (name: string) => `#/sessions/${encodeURIComponent(name)}?sheet=1`,
  thermometers: "#/thermometers",
  thermometer: (bench: string) => `#/thermometers/${encodeURIComponent(bench)}`,
  /** The thermometer's page with a tube of a reading to enter as a check. */
  checkFrom: (bench: string, reading: string, place: number) =>
    `#/thermometers/${encodeURIComponent(bench)}?reading=${encodeURIComponent(reading)}&place=${place}`,
  standards: "#/standards",
  identity: (range: HandedRange & { convention?: string } = {}) => `#/identity${asked({ ...range })}`,
  /** The mixed-melting page with both substances (name or CAS number) and, where there is one, the sample's range. */
  mixed: (pair: HandedRange & { a?: string; b?: string } = {}) => `#/mixed${asked({ ...pair })}`,
  library: (find?: string) => `#/library${asked({ find })}`,
  import: "#/import",
  out: "#/out",
  people: "#/people",
  me: "#/me",
  access: "#/access",
  rereading: "#/rereading",
  /** Practice; somebody's progress, or one exercise, where named. */
  practice: (query: { of?: string; kind?: string; seed?: number } = {}) => `#/practice${asked({ ...query })}`,
  readers: "#/readers",
  handout: "#/handout",
  practicals: "#/practicals",
  practicalNew: "#/practicals/new",
  practical: (id: string) => `#/practicals/${encodeURIComponent(id)}`,
  practicalLabels: (id: string) => `#/practicals/${encodeURIComponent(id)}${LABELS}`,
  /** Where students come in, with a code where one is known. */
  join: (code?: string) => `#/join${asked({ code })}`,
  seat: (practical: string) => `#/seat/${encodeURIComponent(practical)}`,
  invitation: "#/invitation",
  /** The page where an invitation is accepted, with its code; what stands behind # is not sent to any server. */
  invitationWith: (code: string) => `#/invitation?code=${encodeURIComponent(code)}`,
  camera: (bench: string) => `#/camera/${encodeURIComponent(bench)}`,
  compare: (ids: readonly string[] = []) =>
    ids.length ? `#/compare?of=${ids.map(encodeURIComponent).join(",")}` : "#/compare",
} as const;

class Router {
  place = $state.raw<Place>(placeFrom(typeof location === "undefined" ? "" : location.hash));

  constructor() {
    if (typeof window === "undefined") return;
    window.addEventListener("hashchange", () => {
      this.place = placeFrom(location.hash);
    });
  }

  go(address: string): void {
    location.hash = address;
  }
}

export const router = new Router();

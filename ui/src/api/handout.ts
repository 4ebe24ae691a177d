/** Pictures of the handout, drawn by the program. */
import { get, send } from "./client";
import type { components } from "./schema";

export type HandoutPicture = components["schemas"]["HandoutPicture"];

export const pictures = async () => (await get<{ pictures: HandoutPicture[] }>("handout")).pictures;
export async function picture(one: HandoutPicture): Promise<Blob> {
  return (await send(one.address.replace(/^\/?api\//, ""), {})).blob();
}

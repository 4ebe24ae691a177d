/** Pictures of the handout, drawn by the program. */
import { get, send } from "./client";

export interface HandoutPicture {
  name: string;
  address: string;
  caption: string;
}

export const pictures = async () => (await get<{ pictures: HandoutPicture[] }>("handout")).pictures;
export async function picture(one: HandoutPicture): Promise<Blob> {
  return (await send(one.address.replace(/^\/?api\//, ""), {})).blob();
}

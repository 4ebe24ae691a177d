/** The camera page alone, as phones get it. */
import { mount } from "svelte";
import "./style.css";
import { theme } from "./parts/theme.svelte";
import Alone from "./rooms/camera/Alone.svelte";

theme.start();
const target = document.getElementById("app");
if (!target) throw new Error("camera.html has no element with the id app");
mount(Alone, { target });

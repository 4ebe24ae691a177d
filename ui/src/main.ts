import { mount } from "svelte";
import App from "./App.svelte";
import "./style.css";
import "./print.css";
import { startPaper } from "./parts/paper";
import { theme } from "./parts/theme.svelte";

theme.start();
startPaper();
const target = document.getElementById("app");
if (!target) throw new Error("index.html has no element with the id app");
mount(App, { target });

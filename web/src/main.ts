import { mount } from "svelte";
import Desk from "./app/Desk.svelte";

const place = document.getElementById("desk");
if (!place) throw new Error("the page has no element called desk");
mount(Desk, { target: place });

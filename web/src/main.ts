import { mount } from "svelte";
import Desk from "./app/Desk.svelte";
import "./look/look.css";

const place = document.getElementById("desk");
if (!place) throw new Error("the page has no element called desk");
mount(Desk, { target: place });

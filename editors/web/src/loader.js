// Starts the page: all that is large in it is packed.

import { unpacked } from "./unpack.js";

const blob = new Blob([await unpacked("script")], { type: "text/javascript" });
const script = document.createElement("script");
script.type = "module";
script.src = URL.createObjectURL(blob);
document.head.append(script);

// The script of every page. Pages work for reading without it; it keeps them fresh and makes them editable.
import { follow } from "./events";
import { runs } from "./runs";
import { edit } from "./study";

follow();
edit();
runs();

// The script of every page. Pages work for reading without it; it keeps them fresh and makes them editable.
import { curves } from "./curves";
import { follow } from "./events";
import { library } from "./library";
import { runs } from "./runs";
import { edit } from "./study";

follow();
edit();
runs();
library();
curves();

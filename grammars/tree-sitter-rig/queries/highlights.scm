; Made from the table of statements by `cargo run --example write_docs`.
(comment) @comment
(string) @string
[(number) (range) (day)] @number
(unit) @type
(operator) @operator
(statement word: _ @keyword)
(block word: _ @keyword)
((word) @keyword.operator (#any-of? @keyword.operator "above" "and" "becomes" "below" "between" "held" "not" "or" "when" "while"))
((word) @constant.builtin (#any-of? @constant.builtin "A" "E" "R" "T" "aeroplane" "after" "ail" "aileron" "ailerons" "airplane" "always" "any" "at" "autogyro" "battery" "blocks-outputs" "boat" "both" "by" "car" "caution" "centre" "chain" "chains" "channel" "circle" "combined" "combustion" "danger" "descend" "digital" "directions" "down" "ele" "electric" "elevator" "elevators" "empty" "enable" "every" "excludes" "expo" "failsafe" "flags-loss" "fly-back" "flying-wing" "for" "from" "full-above" "full-below" "gives" "glider" "gyrocopter" "gyroplane" "heli" "helicopter" "high-is" "hold" "hopping" "hovercraft" "idle" "idle-above" "idle-below" "in-turn" "inverted-v" "kind" "land" "latch" "lead" "learns" "left" "levels" "li-fe" "li-hv" "li-ion" "li-po" "life" "lifepo" "lifepo4" "lihv" "liion" "like" "link-quality" "lipo" "locator" "low" "low-throttle" "motor" "motors-off" "multicopter" "multirotor" "narrow" "needs" "never" "ni-cd" "ni-mh" "nicad" "nicd" "nimh" "none" "note" "nothing" "off" "on" "on-above" "on-below" "on-ground" "open" "output-stops" "per-cell" "pistol" "pitch" "plane" "plus-minus" "positions" "preset" "pulses" "quad" "quadcopter" "range" "reachable" "receiver" "refuses-stop-aloft" "reported" "reset" "rested" "return" "reversible" "right" "roll" "rud" "rudder" "rudders" "sailplane" "same-major" "seen-off" "serial" "set" "signal" "simulator" "sprung" "sprung-to" "stays" "sticks" "stop" "strict" "switch" "then" "throttle" "toggle" "tracked" "trigger" "under-load" "up" "update" "updates" "upright-v" "vtol" "wheel" "yaw"))

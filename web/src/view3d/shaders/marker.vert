// A marker as a quad of constant size in the picture.
uniform mat4 clip_from_world;
uniform vec2 size_px;

in vec3 place;
in vec2 corner;
in vec4 fill; // red, green, blue, opacity
in vec3 look; // shape, radius in px, ringed

out vec2 at_px;
out vec4 paint;
out vec3 kind;

// Room for outline and ring beside the shape itself, px.
const float ROOM = 6.0;

void main() {
    vec4 at = clip_from_world * vec4(place, 1.0);
    at_px = corner * (look.y * 1.75 + ROOM);
    at.xy += at_px * 2.0 / size_px * at.w;
    paint = fill;
    kind = look;
    gl_Position = at;
}

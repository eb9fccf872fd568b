uniform float opacity;

in vec3 ink;

layout (location = 0) out vec4 color;

void main() {
    color = vec4(ink, opacity);
}

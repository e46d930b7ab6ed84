#version 330 core
// Original or corrected, by mode and divider; stripes over what is clipped in the original. The definition is src/viewer/shade.cpp.
uniform sampler2D original;
uniform sampler2D corrected;
uniform int mode;            // 0 original, 1 corrected, 2 split at the divider
uniform float divider;       // window x in pixels: corrected from here on
uniform int stripes;
uniform float clipped_from;  // encoded 0..1
uniform float stripe_px;     // a light and a dark one together
uniform vec2 window;
in vec2 place;
out vec4 color;
void main() {
    vec2 at = vec2(gl_FragCoord.x, window.y - gl_FragCoord.y);  // centers of pixels, from the top left
    vec3 first = vec3(0.0), second = vec3(0.0);  // in software each look costs: only those that are needed
    if (mode != 1 || stripes != 0) first = texture(original, place).rgb;
    if (mode != 0) second = texture(corrected, place).rgb;
    vec3 shown = mode == 1 || (mode == 2 && at.x >= divider) ? second : first;
    if (stripes != 0 && max(first.r, max(first.g, first.b)) >= clipped_from) {
        shown = vec3(fract((at.x + at.y) / stripe_px) < 0.5 ? 0.0 : 1.0);
    }
    color = vec4(shown, 1.0);
}

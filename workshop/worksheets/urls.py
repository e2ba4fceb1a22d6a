"""Pages of the tightening sheet, under /m/."""

from django.urls import path

from workshop.worksheets import views

app_name = "worksheets"
urlpatterns = [
    path("card/<int:pk>/tightening/", views.tightening, name="tightening"),
    path("card/<int:pk>/joint/", views.joint_new, name="joint_new"),
    path("joint/<int:pk>/tick/", views.tick, name="tick"),
    path("joint/<int:pk>/value/", views.value_new, name="value_new"),
]
